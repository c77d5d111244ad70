//! Loudness, peaks, spectrum and stereo of samples, in one pass.
//!
//! [`Meter`] takes planar 64-bit samples of a mono or stereo track and gives
//! [`Features`]: single figures ([`Summary`]), loudness over time
//! ([`LoudnessCurve`]) and critical-band energy over time ([`BandFrames`]). It
//! opens no files, starts no threads, and gives the same result however the
//! stream is cut.
//!
//! Silence and figures that are not defined are `None`; nothing is infinite or
//! not a number.

mod bandwidth;
mod bin_span;
mod critical_bands;
mod decimator;
mod error;
mod frame_powers;
mod frame_spectrum;
mod gating;
mod highest_peaks;
mod intake;
mod k_weighting;
mod kaiser;
mod level;
mod levels;
mod log_power;
mod long_term;
mod loudness_curve;
mod loudness_meter;
mod meter;
mod mono_transform;
mod pair_power;
mod peak_filters;
mod power_track;
mod spectrum;
mod stereo_transform;
mod summary;
mod third_octaves;
mod true_peak;
mod wide;

pub use critical_bands::{BandFrames, CRITICAL_BANDS};
pub use error::{HIGHEST_RATE_HZ, LOWEST_RATE_HZ, MeasureError};
pub use gating::{integrated_loudness, loudness_range};
pub use highest_peaks::{APART_S, HighestPeak, HighestPeaks, KEPT_PEAKS, SummedPart};
pub use k_weighting::{KWeighting, Section};
pub use loudness_curve::{LoudnessCurve, loudness_between};
pub use loudness_meter::{Loudness, LoudnessMeter};
pub use meter::{Features, Meter, MeterSettings};
pub use summary::{LowShare, Summary};
pub use third_octaves::BandLevel;
pub use true_peak::TruePeak;

/// Changes whenever a figure may change for the same samples; features kept on
/// disk under another version are measured again.
pub const MEASURE_VERSION: u32 = 1;
