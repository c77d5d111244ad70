//! Which grid of beats, which metre and which beat is the first of the bar.

use crate::bar_features::{BAR_FEATURES, BARS, bar_features};
use crate::beat_choice::{candidates, chances, score};
use crate::beat_features::{BeatLevels, FEATURES, Scene, beat_times, features};
use crate::grid::TempoSettings;
use crate::grid_fit::Beats;
use crate::weights::{BAR_WEIGHTS, BEAT_WEIGHTS};

/// A grid and what speaks for it and for its bars.
#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    pub(crate) beats: Beats,
    /// Time of the first beat that bars count from.
    pub(crate) first_s: f64,
    pub(crate) features: [f64; FEATURES],
    pub(crate) bars: [[f64; BAR_FEATURES]; 7],
}

impl Candidate {
    pub(crate) fn of(scene: &Scene, beats: Beats) -> Self {
        let times = beat_times(scene.curve, beats);
        let levels = BeatLevels::of(scene.curve, &times);
        Self {
            beats,
            first_s: times.first().copied().unwrap_or(beats.offset_s),
            features: features(scene, beats, &times, &levels),
            bars: bar_features(scene, &times, &levels),
        }
    }
}

/// The chosen beats and bars.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Choice {
    pub(crate) beats: Beats,
    pub(crate) metre: usize,
    /// Time of a bar line.
    pub(crate) first_s: f64,
    /// Chance that the tempo is right, among the grids looked at.
    pub(crate) tempo: f64,
    /// Chance that beats, metre and bar line are all right.
    pub(crate) downbeat: f64,
}

/// The likeliest tempo, with it the likeliest beats and with them the likeliest
/// bars; `None` where no grid was found.
pub(crate) fn choose(scene: &Scene, settings: &TempoSettings) -> Option<Choice> {
    let found: Vec<Candidate> = candidates(scene, settings)
        .into_iter()
        .map(|beats| Candidate::of(scene, beats))
        .collect();
    let scores: Vec<f64> = found
        .iter()
        .flat_map(|candidate| {
            let beat = score(&candidate.features, &BEAT_WEIGHTS);
            candidate
                .bars
                .iter()
                .map(move |bar| beat + score(bar, &BAR_WEIGHTS))
        })
        .collect();
    let chances = chances(&scores);
    let of_beats = |index: usize| -> f64 { chances[7 * index..7 * index + 7].iter().sum() };
    let same =
        |a: usize, b: usize| (found[a].beats.period_s / found[b].beats.period_s - 1.0).abs() < 0.02;
    let of_tempo = |index: usize| -> f64 {
        let alike = (0..found.len()).filter(|&other| same(index, other));
        alike.map(of_beats).sum()
    };
    let tempo = greatest(0..found.len(), of_tempo)?;
    let best = greatest(
        (0..found.len()).filter(|&other| same(tempo, other)),
        of_beats,
    )?;
    let bar = greatest(0..7, |bar| chances[7 * best + bar])?;
    let (metre, first) = BARS[bar];
    let candidate = &found[best];
    Some(Choice {
        beats: candidate.beats,
        metre,
        first_s: candidate.first_s + first as f64 * candidate.beats.period_s,
        tempo: of_tempo(best).min(1.0),
        downbeat: chances[7 * best + bar],
    })
}

/// The first of those with the greatest value.
fn greatest(of: impl Iterator<Item = usize>, value: impl Fn(usize) -> f64) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for index in of {
        let now = value(index);
        if best.is_none_or(|(_, most)| now > most) {
            best = Some((index, now));
        }
    }
    best.map(|best| best.0)
}
