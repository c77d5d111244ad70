//! Measured behaviour against published signals and independent libraries.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests are tests too; the lint knows only test functions"
)]

mod bandwidth;
mod critical_bands;
mod curve;
mod k_weighting;
mod peer;
mod signals;
mod stereo;
mod stream;
mod tech_3341;
mod tech_3342;
mod third_octaves;
mod true_peak;
