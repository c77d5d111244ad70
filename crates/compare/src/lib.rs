//! A mix beside its reference: equal loudness, and the named parts of
//! the distance between them.

mod cells;
mod distance;
mod parts;
mod spectrum;
mod stretch;

pub use cells::{Band, Cells, Layout};
pub use distance::{Distance, PartName};
pub use parts::{Parts, parts_of};
pub use spectrum::{BandDifference, Spectrum, differences};
pub use stretch::Stretch;
