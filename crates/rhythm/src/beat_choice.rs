//! Which of several grids of beats is the right one.

use crate::beat_features::{FEATURES, features};
use crate::grid::TempoSettings;
use crate::grid_fit::{Beats, fit, phases, sharpen};
use crate::onset_curve::Onsets;
use crate::pulse::Pulse;
use crate::weights::BEAT_WEIGHTS;

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

/// The chosen grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BeatChoice {
    pub(crate) beats: Beats,
    /// Chance that its tempo is right.
    pub(crate) sure: f64,
    /// Chance that tempo and place of the beat are right.
    pub(crate) sure_place: f64,
}

/// A grid and what speaks for it.
#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    pub(crate) beats: Beats,
    pub(crate) features: [f64; FEATURES],
}

/// Chooses among [`candidates`]; `None` where there are none.
pub(crate) fn choose_beats(
    curve: &Onsets,
    pulse: &Pulse,
    settings: &TempoSettings,
) -> Option<BeatChoice> {
    let candidates = candidates(curve, pulse, settings);
    let scores: Vec<f64> = candidates
        .iter()
        .map(|candidate| {
            let sum: f64 = candidate
                .features
                .iter()
                .zip(BEAT_WEIGHTS)
                .map(|(x, w)| x * w)
                .sum();
            sum
        })
        .collect();
    let chances = chances(&scores);
    let best = (0..chances.len()).max_by(|&a, &b| chances[a].total_cmp(&chances[b]))?;
    let beats = candidates[best].beats;
    let same = |other: &Beats| (other.period_s / beats.period_s - 1.0).abs() < 0.02;
    let sure = candidates
        .iter()
        .zip(&chances)
        .filter(|(candidate, _)| same(&candidate.beats))
        .map(|(_, chance)| chance)
        .sum();
    Some(BeatChoice {
        beats,
        sure,
        sure_place: chances[best],
    })
}

/// Scores as chances that sum to 1.
pub(crate) fn chances(scores: &[f64]) -> Vec<f64> {
    let highest = scores.iter().copied().fold(f64::MIN, f64::max);
    let raw: Vec<f64> = scores.iter().map(|score| (score - highest).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|x| x / sum).collect()
}

/// Grids with the pulse of the file, inside the range.
pub(crate) fn candidates(
    curve: &Onsets,
    pulse: &Pulse,
    settings: &TempoSettings,
) -> Vec<Candidate> {
    let given = settings
        .given_bpm
        .filter(|bpm| bpm.is_finite() && *bpm > 1.0);
    let periods = match given {
        Some(bpm) => vec![60.0 / bpm],
        None => periods(curve, pulse, range(settings)),
    };
    let mut found: Vec<Candidate> = Vec::new();
    for period_s in periods {
        for offset_s in phases(&curve.hits, period_s, PHASES) {
            let start = Beats { period_s, offset_s };
            let beats = fit(&curve.hits, start, given.is_some()).wrapped();
            let moved = (beats.period_s / period_s - 1.0).abs() > 0.005;
            let known = found.iter().any(|other| {
                let near = (other.beats.period_s / beats.period_s - 1.0).abs() < 0.003;
                near && other.beats.phase(beats.offset_s).abs() * beats.period_s < 0.015
            });
            if !known && !moved {
                let features = features(curve, pulse, beats);
                found.push(Candidate { beats, features });
            }
        }
    }
    found
}

fn range(settings: &TempoSettings) -> (f64, f64) {
    match settings.range_bpm {
        Some((low, high)) if low.is_finite() && low > 1.0 && high.is_finite() && high >= low => {
            (low, high)
        }
        _ => TEMPI_BPM,
    }
}

fn periods(curve: &Onsets, pulse: &Pulse, (low, high): (f64, f64)) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::new();
    for strong in strongest_periods(pulse) {
        let strong_s = sharpen(&curve.hits, pulse.refine(strong));
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

/// The two best periods of the comb that share no simple ratio.
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
        if found.len() == 2 {
            break;
        }
    }
    found
}
