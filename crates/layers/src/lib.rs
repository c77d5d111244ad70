//! The layers heard in a mix: what plays where in the bar.
//!
//! [`LayerMeter`] folds the samples of a passage over its bars, [`find_layers`]
//! reads the layers of a mix from the fold, and [`layers_of_tracks`] describes the
//! tracks of a session in the same terms. [`compare_layers`] puts both side by
//! side; [`arrangement_bands`] says which bands differ because other things play.
//!
//! # When a layer found is a true one
//!
//! [`layer_matches`] is the rule; it looks at [`LayerFacts`] alone:
//! at least half of the places of each are in common, their bands overlap by half
//! of the narrower and a quarter of the wider one, and their sides differ by 0.35
//! at most. Places of a struck layer are the sixteenths its hits start in; places
//! of a sustained one are those it is heard in.
//!
//! True layers are known from tracks: [`layers_of_tracks`] on the fold of every
//! track (or element) of the mix. [`score_layers`] pairs both, each once.

mod arrangement;
mod bands;
mod candidate;
mod choice;
mod compare;
mod describe;
mod find;
mod fold;
mod held;
mod kinship;
mod layer;
mod matching;
mod meter;
mod naming;
mod nmf;
mod path;
mod places;
mod rises;
mod score;
mod strand;
mod struck;
mod sureness;
mod sureness_weights;
#[cfg(test)]
mod tests;
mod tracks;
mod turns;
mod zones;

pub use arrangement::{ArrangementBand, arrangement_bands};
pub use compare::{LayerPair, Verdict, compare_layers, same_layer};
pub use find::find_layers;
#[doc(hidden)]
pub use find::traits_of_candidates;
pub use fold::FoldedSound;
pub use layer::{Layer, LayerContext, LayerKind};
pub use matching::{LayerFacts, agreement, layer_matches, pair_up, shared_places};
pub use meter::LayerMeter;
pub use score::{LayerScore, TrueLayer, score_layers};
pub use tracks::layers_of_tracks;
