//! Musical time: onsets, tempo, beats, bars and swing.

mod bar_choice;
mod bar_features;
mod bar_lines;
mod beat_choice;
mod beat_features;
mod drift;
mod drift_path;
mod drift_pattern;
mod entries;
#[doc(hidden)]
pub mod fitting;
mod grid;
mod grid_fit;
mod low_spectrum;
mod onset_bands;
mod onset_curve;
mod onset_hits;
mod onset_meter;
mod proof;
mod pulse;
mod slots;
mod steadiness;
mod swing;
mod warp;
mod weights;

pub use bar_lines::BarLines;
pub use grid::{Grid, GridKind, TempoSettings, find_grid};
pub use onset_curve::OnsetCurve;
pub use onset_hits::Hit;
pub use onset_meter::OnsetMeter;
