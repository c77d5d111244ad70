//! Whether the exported tracks can be trusted to add up to the mix.
//!
//! Opens no files: tracks and bounce come through [`Source`].

mod error;
mod input;
mod judge;
mod remarks;
pub mod thresholds;
mod trust;

pub use error::TrustError;
pub use input::{Source, Stream, TrackInput, TrustInput};
pub use judge::judge;
pub use trust::{
    BandResidual, Cause, Difference, FoundBy, FoundStart, LeftOut, LeftOutWhy, NearIdentical, Note,
    Polarity, RecoveredGain, TimeResidual, Trust, Verdict,
};
