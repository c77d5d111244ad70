//! Finer traits of one file's sound, read in one pass: mains hum in pauses, clicks
//! at edges, how hits die away, how far they stand out, a constant offset.
//!
//! [`TraitMeter`] takes planar samples in blocks of any size and gives [`Traits`].
//! It opens no files and starts no threads; the result does not depend on how the
//! stream is cut, and memory does not grow with its length.

mod clicks;
mod decay;
mod gap;
mod hits;
mod hops;
mod hum;
mod intake;
mod low;
mod median;
mod meter;
mod offset;
mod traits;

pub use meter::TraitMeter;
pub use traits::{Click, Decay, Hum, Traits};
