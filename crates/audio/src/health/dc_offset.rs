//! A constant offset.
//!
//! **What it measures**: the mean of each channel over the whole file.
//! **Why it matters**: it takes headroom, clicks at cuts, and biases dynamics.
//! **Threshold and source**: -60 dBFS, and three standard errors of the means of
//! 10 ms blocks, within which chance alone keeps noise (common practice, no source).
//! **How to mend**: a low cut at 20 Hz on the track.
//! **When it is wrong**: short, lopsided hits have a mean of their own.

use super::block::Stats;
use super::dbfs;
use crate::note::{HealthCode, HealthGrade, HealthNote};

const THRESHOLD_LINEAR: f64 = 1e-3;

const STANDARD_ERRORS: f64 = 3.0;

#[derive(Clone, Debug)]
pub(super) struct DcOffset {
    channels: Vec<Means>,
}

/// Sums over the means of blocks.
#[derive(Clone, Copy, Debug, Default)]
struct Means {
    blocks: f64,
    sum: f64,
    squares: f64,
}

impl DcOffset {
    pub(super) fn new(channels: usize) -> Self {
        DcOffset {
            channels: vec![Means::default(); channels],
        }
    }

    /// Takes the statistics of a block of `frames` frames.
    pub(super) fn add(&mut self, channel: usize, stats: &Stats, frames: usize) {
        if stats.is_finite() {
            let mean = stats.sum / frames as f64;
            let means = &mut self.channels[channel];
            means.blocks += 1.0;
            means.sum += mean;
            means.squares += mean * mean;
        }
    }

    pub(super) fn note(&self) -> Option<HealthNote> {
        let worst = self.channels.iter().map(Means::offset).fold(0.0, f64::max);
        (worst > THRESHOLD_LINEAR).then(|| {
            let text = format!(
                "a constant offset of {:.1} dBFS; put a low cut at 20 Hz on the track",
                dbfs(worst)
            );
            HealthNote::new(HealthCode::DcOffset, HealthGrade::Look, text)
                .with_value(dbfs(worst), "dBFS")
        })
    }
}

impl Means {
    /// Distance of the mean from zero; 0 where chance may account for it.
    fn offset(&self) -> f64 {
        let blocks = self.blocks.max(1.0);
        let mean = self.sum / blocks;
        let variance = (self.squares / blocks - mean * mean).max(0.0);
        let standard_error = libm::sqrt(variance / blocks);
        if mean.abs() > STANDARD_ERRORS * standard_error {
            mean.abs()
        } else {
            0.0
        }
    }
}
