//! Which metre and which beat is the first of the bar.

use crate::bar_features::{BARS, bar_features};
use crate::beat_choice::chances;
use crate::beat_features::beat_times;
use crate::grid_fit::Beats;
use crate::onset_meter::OnsetCurve;
use crate::weights::BAR_WEIGHTS;

/// The chosen bars.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BarChoice {
    pub(crate) metre: usize,
    pub(crate) first_s: f64,
    /// Chance that both are right.
    pub(crate) sure: f64,
}

/// Chooses among [`BARS`].
pub(crate) fn choose_bar(curve: &OnsetCurve, beats: Beats) -> BarChoice {
    let scores: Vec<f64> = bar_features(curve, beats)
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
    let first_s = beat_times(curve, beats)
        .first()
        .copied()
        .unwrap_or(beats.offset_s);
    BarChoice {
        metre: BARS[best].0,
        first_s: first_s + BARS[best].1 as f64 * beats.period_s,
        sure: chances[best],
    }
}
