//! Grids of beats a file may have.

use crate::beat_features::{Scene, quick_features};
use crate::grid::TempoSettings;
use crate::grid_fit::{Beats, fit, phases, sharpen};
use crate::pulse::Pulse;
use crate::weights::QUICK_WEIGHTS;

/// Tempi that come out without a range.
pub(crate) const TEMPI_BPM: (f64, f64) = (60.0, 200.0);
/// Periods that share a pulse with a found one.
const RATIOS: [f64; 11] = [
    0.25,
    1.0 / 3.0,
    0.5,
    2.0 / 3.0,
    0.75,
    1.0,
    4.0 / 3.0,
    1.5,
    2.0,
    3.0,
    4.0,
];
/// Offsets tried for every period.
const PHASES: usize = 5;

/// Grids that are looked at closely.
const CLOSE: usize = 14;

/// Scores as chances that sum to 1.
pub(crate) fn chances(scores: &[f64]) -> Vec<f64> {
    let highest = scores.iter().copied().fold(f64::MIN, f64::max);
    let raw: Vec<f64> = scores.iter().map(|score| (score - highest).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|x| x / sum).collect()
}

/// Weighted sum of features.
pub(crate) fn score(features: &[f64], weights: &[f64]) -> f64 {
    features.iter().zip(weights).map(|(x, w)| x * w).sum()
}

/// Grids with the pulse of the file, inside the range: the likeliest at first
/// sight, best first.
pub(crate) fn candidates(scene: &Scene, settings: &TempoSettings) -> Vec<Beats> {
    candidates_close(scene, settings, CLOSE)
}

/// The `close` likeliest grids at first sight, best first.
pub(crate) fn candidates_close(
    scene: &Scene,
    settings: &TempoSettings,
    close: usize,
) -> Vec<Beats> {
    let mut scored: Vec<(f64, Beats)> = all_candidates(scene, settings)
        .into_iter()
        .map(|beats| (score(&quick_features(scene, beats), &QUICK_WEIGHTS), beats))
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    scored.truncate(close);
    scored.into_iter().map(|scored| scored.1).collect()
}

/// Grids with the pulse of the file, inside the range.
pub(crate) fn all_candidates(scene: &Scene, settings: &TempoSettings) -> Vec<Beats> {
    let hits = &scene.curve.hits;
    let given = given_bpm(settings);
    let periods = match given {
        Some(bpm) => vec![60.0 / bpm],
        None => periods(scene, range(settings)),
    };
    let mut found: Vec<Beats> = Vec::new();
    for period_s in periods {
        for offset_s in phases(hits, period_s, PHASES) {
            let start = Beats { period_s, offset_s };
            let beats = fit(hits, start, given.is_some()).wrapped();
            let moved = (beats.period_s / period_s - 1.0).abs() > 0.005;
            let known = found.iter().any(|other| {
                let near = (other.period_s / beats.period_s - 1.0).abs() < 0.003;
                near && other.phase(beats.offset_s).abs() * beats.period_s < 0.015
            });
            if !known && !moved {
                found.push(beats);
            }
        }
    }
    found
}

/// The given tempo, where it is one.
pub(crate) fn given_bpm(settings: &TempoSettings) -> Option<f64> {
    settings
        .given_bpm
        .filter(|bpm| bpm.is_finite() && *bpm > 1.0)
}

fn range(settings: &TempoSettings) -> (f64, f64) {
    match settings.range_bpm {
        Some((low, high)) if low.is_finite() && low > 1.0 && high.is_finite() && high >= low => {
            (low, high)
        }
        _ => TEMPI_BPM,
    }
}

fn periods(scene: &Scene, (low, high): (f64, f64)) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::new();
    for strong in strongest_periods(scene.pulse) {
        let gathered = |period_s: &f64| scene.sounds.gathered(*period_s);
        let refined = scene
            .pulse
            .refined(strong)
            .into_iter()
            .rev()
            .max_by(|a, b| gathered(a).total_cmp(&gathered(b)));
        let strong_s = sharpen(&scene.curve.hits, refined.unwrap_or(strong));
        for ratio in RATIOS {
            let period_s = strong_s * ratio;
            let bpm = 60.0 / period_s;
            let inside = bpm > low * 0.998 && bpm < high * 1.002;
            if inside
                && found
                    .iter()
                    .all(|other| (other / period_s - 1.0).abs() > 0.004)
            {
                found.push(period_s);
            }
        }
    }
    found
}

/// The three best periods of the comb that share no simple ratio.
fn strongest_periods(pulse: &Pulse) -> Vec<f64> {
    let steps = (200.0f64 / 60.0).ln() / 0.0015;
    let mut scored: Vec<(f64, f64)> = (0..=steps as usize)
        .map(|step| {
            let period_s = 0.3 * (0.0015 * step as f64).exp();
            (pulse.comb(period_s), period_s)
        })
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut found: Vec<f64> = Vec::new();
    for (_, period_s) in scored {
        let related = |other: &f64| {
            RATIOS
                .iter()
                .any(|ratio| (period_s / other / ratio - 1.0).abs() < 0.02)
        };
        if !found.iter().any(related) {
            found.push(period_s);
        }
        if found.len() == 3 {
            break;
        }
    }
    found
}
