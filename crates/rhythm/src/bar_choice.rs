//! Which metre and which beat is the first of the bar.

use crate::bar_features::{BARS, bar_features};
use crate::beat_choice::chances;
use crate::onset_curve::Onsets;
use crate::weights::BAR_WEIGHTS;

/// The chosen bars.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BarChoice {
    pub(crate) metre: usize,
    pub(crate) first_s: f64,
    /// Chance that both are right.
    pub(crate) sure: f64,
}

/// Chooses among [`BARS`] of the beats at `times`.
pub(crate) fn choose_bar(curve: &Onsets, times: &[f64]) -> BarChoice {
    let scores: Vec<f64> = bar_features(curve, times)
        .iter()
        .map(|features| {
            let sum: f64 = features.iter().zip(BAR_WEIGHTS).map(|(x, w)| x * w).sum();
            sum
        })
        .collect();
    let chances = chances(&scores);
    let best = (0..chances.len())
        .max_by(|&a, &b| chances[a].total_cmp(&chances[b]))
        .unwrap_or(0);
    BarChoice {
        metre: BARS[best].0,
        first_s: times.get(BARS[best].1).copied().unwrap_or(0.0),
        sure: chances[best],
    }
}
