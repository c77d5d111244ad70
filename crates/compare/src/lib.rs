//! A mix beside its reference: equal loudness, and the named parts of
//! the distance between them.

mod parts;
mod spectrum;
mod stretch;

pub use parts::{Parts, parts_of};
pub use spectrum::{BandDifference, Spectrum, differences};
pub use stretch::Stretch;
