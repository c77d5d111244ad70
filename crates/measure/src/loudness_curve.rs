//! Loudness over time.

use crate::gating::{SHORT_TERM_BLOCK, lufs};
use crate::power_track::sliding_loudness;
use serde::{Deserialize, Serialize};

const MOMENTARY_BLOCK: usize = 4;

/// Momentary and short-term loudness, ten values a second.
///
/// Entry `i` belongs to the window that **ends** at `(i + 1) * hop_s`. Windows
/// that begin before the first sample are not measured: the first 3 momentary
/// and the first 29 short-term entries are minus infinity, as is silence. A
/// last part shorter than 100 ms has no entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LoudnessCurve {
    /// Seconds between entries, 0.1.
    pub hop_s: f64,
    /// Loudness of the last 400 ms, LUFS.
    pub momentary_lufs: Vec<f32>,
    /// Loudness of the last 3 s, LUFS.
    pub short_term_lufs: Vec<f32>,
    /// Mean K-weighted power of each 100 ms, channels summed with their
    /// weights; everything else can be derived from it.
    pub k_power: Vec<f32>,
}

impl LoudnessCurve {
    pub(crate) fn from_powers(powers: &[f64]) -> Self {
        Self {
            hop_s: 0.1,
            momentary_lufs: sliding_loudness(powers, MOMENTARY_BLOCK),
            short_term_lufs: sliding_loudness(powers, SHORT_TERM_BLOCK),
            k_power: powers.iter().map(|&power| power as f32).collect(),
        }
    }

    /// The curve on another clock, on which the file begins at `start_s`, to the
    /// nearest step; before it is silence, and what lies before zero is cut off.
    pub fn starting_at(&self, start_s: f64) -> Self {
        let steps = (start_s / self.hop_s).round();
        let skipped = (-steps).max(0.0) as usize;
        let silent = steps.max(0.0) as usize;
        let powers: Vec<f64> = std::iter::repeat_n(0.0, silent)
            .chain(self.k_power.iter().skip(skipped).map(|&p| f64::from(p)))
            .collect();
        Self::from_powers(&powers)
    }

    /// Mean K-weighted power between two times; 100 ms entries cut by a border
    /// count by their share. `None` where the stretch holds no entry.
    pub fn power_between(&self, start_s: f64, end_s: f64) -> Option<f64> {
        if start_s.is_nan() || end_s.is_nan() {
            return None;
        }
        let start = (start_s / self.hop_s).max(0.0);
        let end = (end_s / self.hop_s).min(self.k_power.len() as f64);
        if end <= start {
            return None;
        }
        let (first, last) = (start.floor() as usize, end.ceil() as usize);
        let mut sum = 0.0;
        for index in first..last {
            let share = end.min((index + 1) as f64) - start.max(index as f64);
            sum += share * f64::from(self.k_power[index]);
        }
        Some(sum / (end - start))
    }
}

/// Ungated K-weighted loudness of a stretch, LUFS.
///
/// Times in seconds, held to the length of the curve; `None` where the stretch
/// is empty or silent.
pub fn loudness_between(curve: &LoudnessCurve, start_s: f64, end_s: f64) -> Option<f64> {
    lufs(curve.power_between(start_s, end_s)?)
}
