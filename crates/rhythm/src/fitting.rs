//! What the weights of the grid are fitted on; not part of the public face.

use crate::bar_features::bar_features;
use crate::beat_choice::candidates;
use crate::grid::TempoSettings;
use crate::onset_curve::{OnsetCurve, Onsets};
use crate::pulse::Pulse;
use crate::steadiness::agreement;

/// Features of one candidate.
pub struct Row {
    /// Time from beat to beat.
    pub period_s: f64,
    /// Time of a beat.
    pub offset_s: f64,
    /// Time of the first beat of the file.
    pub first_s: f64,
    /// Share of the strong hits on the grid, beyond chance.
    pub agreement: f64,
    /// What speaks for the beats.
    pub beat: Vec<f64>,
    /// What speaks for each metre and bar line.
    pub bars: Vec<Vec<f64>>,
}

/// Every candidate grid.
pub fn rows(curve: &OnsetCurve) -> Vec<Row> {
    let curve = &Onsets::of(curve);
    let Some(pulse) = Pulse::of(curve) else {
        return Vec::new();
    };
    candidates(curve, &pulse, &TempoSettings::default())
        .into_iter()
        .map(|candidate| {
            let beats = candidate.beats;
            let first = crate::beat_features::beat_times(curve, beats);
            let strong: Vec<_> = curve.hits.iter().filter(|hit| hit.strength > 1.2).collect();
            Row {
                period_s: beats.period_s,
                offset_s: beats.offset_s,
                first_s: first.first().copied().unwrap_or(beats.offset_s),
                agreement: agreement(&strong, beats),
                beat: candidate.features.to_vec(),
                bars: bar_features(curve, &first)
                    .iter()
                    .map(|f| f.to_vec())
                    .collect(),
            }
        })
        .collect()
}
