//! A constant offset.
//!
//! **What it measures**: the mean of each channel over the whole file.
//! **Why it matters**: it takes headroom, clicks at cuts, and biases dynamics.
//! **Threshold and source**: -60 dBFS (common practice, no source).
//! **How to mend**: a low cut at 20 Hz on the track.
//! **When it is wrong**: short, lopsided hits have a mean of their own.

use super::block::Stats;
use super::dbfs;
use crate::note::{HealthCode, HealthGrade, HealthNote};

const THRESHOLD_LINEAR: f64 = 1e-3;

#[derive(Clone, Debug)]
pub(super) struct DcOffset {
    sums: Vec<f64>,
}

impl DcOffset {
    pub(super) fn new(channels: usize) -> Self {
        DcOffset {
            sums: vec![0.0; channels],
        }
    }

    pub(super) fn add(&mut self, channel: usize, stats: &Stats) {
        if stats.is_finite() {
            self.sums[channel] += stats.sum;
        }
    }

    pub(super) fn note(&self, frames: u64) -> Option<HealthNote> {
        let means = self.sums.iter().map(|sum| (sum / frames as f64).abs());
        let worst = means.fold(0.0, f64::max);
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
