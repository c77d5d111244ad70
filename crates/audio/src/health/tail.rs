//! A sound that stops instead of dying away.
//!
//! **What it measures**: the level of the last 10 ms (between 5 and 15, as the
//! blocks fall) against the loudest block and the last tenth of a second.
//! **Why it matters**: an export range that ends too early cuts reverb and delay.
//! **Threshold and source**: RMS above -50 dBFS, or within 30 dB of the loudest
//! block and above -80 dBFS, and less than 15 dB below the loudest of the last
//! eleven blocks, which a fade would be (common practice, no source).
//! **How to mend**: export again with a longer range.
//! **When it is wrong**: loops, and endings that are cut on purpose.

use std::collections::VecDeque;

use crate::note::{HealthCode, HealthGrade, HealthNote};

/// Blocks kept: the last, the one before, and a tenth of a second.
const KEPT_BLOCKS: usize = 12;
const LOUD_DBFS: f64 = -50.0;
const NEAR_PEAK_DB: f64 = 30.0;
const INAUDIBLE_DBFS: f64 = -80.0;
const FADE_DB: f64 = 15.0;

#[derive(Clone, Debug, Default)]
pub(super) struct Tail {
    /// Energy and frames of the last blocks, the latest last.
    recent: VecDeque<(f64, usize)>,
    loudest_power: f64,
}

impl Tail {
    /// Takes one block's energy, the mean of its channels.
    pub(super) fn add(&mut self, energy: f64, frames: usize) {
        self.loudest_power = self.loudest_power.max(energy / frames.max(1) as f64);
        if self.recent.len() == KEPT_BLOCKS {
            self.recent.pop_front();
        }
        self.recent.push_back((energy, frames));
    }

    pub(super) fn note(&self, frames: u64, sample_rate_hz: f64) -> Option<HealthNote> {
        let level_dbfs = power_db(self.last_power()?);
        let loud = level_dbfs > LOUD_DBFS
            || (level_dbfs > power_db(self.loudest_power) - NEAR_PEAK_DB
                && level_dbfs > INAUDIBLE_DBFS);
        let fading = level_dbfs < power_db(self.recent_loudest()) - FADE_DB;
        (loud && !fading).then(|| {
            let text = format!(
                "it still sounds at {level_dbfs:.1} dBFS where it ends, so a tail may be cut off; if that is not meant, export a longer range"
            );
            HealthNote::new(HealthCode::TailCutOff, HealthGrade::Look, text)
                .at(frames as f64 / sample_rate_hz)
                .with_value(level_dbfs, "dBFS")
        })
    }

    /// Power of the last block, joined by the one before if it is less than half
    /// full; `None` for files of a single block, which are too short to tell.
    fn last_power(&self) -> Option<f64> {
        let (before, before_frames) = *self.recent.iter().rev().nth(1)?;
        let (last, last_frames) = *self.recent.back()?;
        if 2 * last_frames >= before_frames {
            return Some(last / last_frames as f64);
        }
        Some((last + before) / (last_frames + before_frames) as f64)
    }

    fn recent_loudest(&self) -> f64 {
        let powers = self.recent.iter().map(|(energy, n)| energy / *n as f64);
        powers.fold(0.0, f64::max)
    }
}

fn power_db(power: f64) -> f64 {
    10.0 * libm::log10(power)
}
