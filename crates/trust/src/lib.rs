//! Whether the exported tracks can be trusted to add up to the mix.
//!
//! Opens no files: tracks and bounce come through [`Source`].

mod align;
mod bounce;
mod clues;
mod correlate;
mod error;
mod feed;
mod gains;
mod gram;
mod input;
mod judge;
mod nnls;
mod pairs;
mod pass;
mod remarks;
mod session;
mod shifts;
mod spectra;
mod starts;
mod sums;
pub mod thresholds;
mod trust;
mod verdict;
mod windows;
mod words;

pub use error::TrustError;
pub use input::{Source, Stream, TrackInput, TrustInput};
pub use judge::judge;
pub use trust::{
    BandResidual, Cause, Difference, FoundBy, FoundStart, LeftOut, LeftOutWhy, NearIdentical, Note,
    Polarity, RecoveredGain, TimeResidual, Trust, Verdict, WrongStart,
};

/// Changes whenever an answer may change for the same samples; answers kept on
/// disk under another version are judged again.
pub const TRUST_VERSION: u32 = 2;
