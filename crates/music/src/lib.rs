//! What music the samples hold: roles by file name, and musical time.
//!
//! [`OnsetMeter`] listens along while a file is read and gives an
//! [`OnsetCurve`]; [`find_grid`] makes tempo, beats, bars and swing of it. No
//! files, no threads; the same input gives the same grid bit for bit.

mod bar_choice;
mod bar_features;
mod beat_choice;
mod beat_features;
mod drift;
#[doc(hidden)]
pub mod fitting;
mod grid;
mod grid_fit;
mod low_spectrum;
mod names;
mod onset_bands;
mod onset_hits;
mod onset_meter;
mod pulse;
mod steadiness;
mod swing;
mod weights;

pub use grid::{Grid, GridKind, TempoSettings, find_grid};
pub use names::{common_prefix_len, role_of_name};
pub use onset_meter::{OnsetCurve, OnsetMeter};
