//! A mix beside its reference: passages, equal loudness, and the named parts of
//! the distance between them.

mod parts;
mod passage;
mod spectrum;

pub use parts::{Parts, parts_of};
pub use passage::{PASSAGE_S, Stretch, busiest_stretch};
pub use spectrum::{BandDifference, Spectrum, differences};
