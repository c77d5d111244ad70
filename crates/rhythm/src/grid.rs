//! Tempo, beats and bars of a file, from its onsets.
//!
//! Music made on a grid has one tempo and one offset; both are fitted to all
//! onsets. Which octave, metre and bar line a grid has is chosen among
//! candidates by weights fitted on generated pieces.

use crate::bar_choice::{Choice, choose};
use crate::beat_choice::given_bpm;
use crate::beat_features::Scene;
use crate::drift::follow;
use crate::drift_path::Prices;
use crate::grid_fit::Beats;
use crate::onset_curve::{OnsetCurve, Onsets};
use crate::proof::Proof;
use crate::pulse::Pulse;
use crate::steadiness::Sounds;
use crate::swing::swing;
use crate::warp::Warp;
use serde::{Deserialize, Serialize};

/// What is known of the tempo beforehand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TempoSettings {
    /// Lowest and highest tempo that may come out; settles the octave.
    pub range_bpm: Option<(f64, f64)>,
    /// The tempo, where it is known: trusted, only the offset is fitted.
    pub given_bpm: Option<f64>,
}

/// How the beats of a file lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GridKind {
    /// One tempo, one offset.
    Steady,
    /// Beats that have to be listed.
    Drifting,
    /// No beats that could be told: silence, a pad, a voice.
    CannotTell,
}

/// Musical time of a file; times in seconds from its start.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// Beats a minute, 60 to 200 unless a given tempo or range says other; the
    /// median where beats drift.
    pub tempo_bpm: Option<f64>,
    /// Time of the first beat not before the file starts (or up to 10 ms
    /// before it).
    pub beat_offset_s: Option<f64>,
    /// Steady, drifting, or neither.
    pub kind: GridKind,
    /// Every beat; only where they drift.
    pub beats_s: Vec<f64>,
    /// 4 or 3.
    pub beats_per_bar: Option<u32>,
    /// Time of the first bar line not before the file starts (or up to 10 ms
    /// before it).
    pub first_downbeat_s: Option<f64>,
    /// Place of the second sixteenth in its pair, 0.5 straight.
    pub swing: Option<f64>,
    /// Chance that tempo and octave are right, 0 to 1.
    pub sure_tempo: f64,
    /// Chance that metre and bar line are right, 0 to 1.
    pub sure_downbeat: f64,
}

impl Grid {
    /// Times of all beats in the first `seconds` of the file; none where the grid
    /// cannot be told.
    pub fn beats(&self, seconds: f64) -> Vec<f64> {
        match (self.kind, self.tempo_bpm, self.beat_offset_s) {
            (GridKind::Steady, Some(bpm), Some(offset_s)) => every(offset_s, 60.0 / bpm, seconds),
            _ => self.listed(0, 1, seconds),
        }
    }

    /// Times of all bar lines in the first `seconds` of the file; none where the
    /// grid cannot be told. The first may lie up to 10 ms before the file, what
    /// sounds before it is a pickup.
    pub fn bars_s(&self, seconds: f64) -> Vec<f64> {
        let (Some(first_s), Some(metre)) = (self.first_downbeat_s, self.beats_per_bar) else {
            return Vec::new();
        };
        match (self.kind, self.tempo_bpm) {
            (GridKind::Steady, Some(bpm)) => every(first_s, f64::from(metre) * 60.0 / bpm, seconds),
            _ => {
                let first = self.beats_s.iter().position(|&beat| beat >= first_s - 1e-6);
                first.map_or_else(Vec::new, |first| {
                    self.listed(first, metre.max(1) as usize, seconds)
                })
            }
        }
    }

    fn listed(&self, first: usize, every: usize, seconds: f64) -> Vec<f64> {
        let beats = self.beats_s.iter().skip(first).step_by(every).copied();
        beats.filter(|&beat| beat < seconds).collect()
    }

    fn cannot_tell() -> Self {
        Self {
            tempo_bpm: None,
            beat_offset_s: None,
            kind: GridKind::CannotTell,
            beats_s: Vec::new(),
            beats_per_bar: None,
            first_downbeat_s: None,
            swing: None,
            sure_tempo: 0.0,
            sure_downbeat: 0.0,
        }
    }
}

fn every(first_s: f64, period_s: f64, seconds: f64) -> Vec<f64> {
    let count = ((seconds - first_s) / period_s).ceil();
    if !(period_s > 0.0 && count.is_finite()) {
        return Vec::new();
    }
    (0..count.max(0.0) as usize)
        .map(|k| first_s + k as f64 * period_s)
        .collect()
}

/// Finds the grid of a file.
///
/// Empty input, silence and sounds without beats give [`GridKind::CannotTell`]
/// with nothing else. A range or given tempo that is not finite and positive is
/// not heeded.
pub fn find_grid(curve: &OnsetCurve, settings: &TempoSettings) -> Grid {
    let onsets = &Onsets::of(curve);
    let sounds = Sounds::of(onsets);
    if !sounds.enough() {
        return Grid::cannot_tell();
    }
    let given = given_bpm(settings).is_some();
    if let Some((choice, proof)) = look(onsets, &sounds, settings)
        && (given || proof.is_steady())
    {
        return steady(onsets, choice, proof);
    }
    // what has beats has them at both prices; a path through a pad hangs on them
    let followed = |prices: Prices| {
        let warp = follow(onsets, prices)?;
        let even = &warp.straighten(onsets);
        let found = look(even, &Sounds::of(even), settings);
        let (choice, proof) = found.filter(|(_, proof)| proof.is_followed())?;
        Some(drifting(&warp, curve.seconds(), choice, proof))
    };
    followed(Prices::SOFT)
        .and_then(|_| followed(Prices::HARD))
        .unwrap_or_else(Grid::cannot_tell)
}

/// The best grid and how well it is borne out.
fn look(curve: &Onsets, sounds: &Sounds, settings: &TempoSettings) -> Option<(Choice, Proof)> {
    let pulse = Pulse::of(curve)?;
    let choice = choose(&Scene::of(curve, &pulse, sounds), settings)?;
    Some((choice, Proof::of(sounds, curve.seconds, &choice)))
}

fn steady(curve: &Onsets, choice: Choice, proof: Proof) -> Grid {
    let period_s = choice.beats.period_s;
    let first = |offset_s: f64, length_s: f64| {
        let wrapped = offset_s.rem_euclid(length_s);
        if length_s - wrapped < 0.01 {
            wrapped - length_s
        } else {
            wrapped
        }
    };
    Grid {
        tempo_bpm: Some(60.0 / period_s),
        beat_offset_s: Some(first(choice.beats.offset_s, period_s)),
        kind: GridKind::Steady,
        beats_s: Vec::new(),
        beats_per_bar: Some(choice.metre as u32),
        first_downbeat_s: Some(first(choice.first_s, choice.metre as f64 * period_s)),
        swing: swing(curve, choice.beats),
        sure_tempo: proof.sure_tempo(),
        sure_downbeat: proof.sure_downbeat(),
    }
}

/// The chosen grid of even time, bent back.
fn drifting(warp: &Warp, seconds: f64, choice: Choice, proof: Proof) -> Grid {
    let Beats { period_s, .. } = choice.beats;
    let start_s = warp.to_even(-0.01);
    let before = ((choice.first_s - start_s) / period_s).floor();
    let first_s = choice.first_s - before * period_s;
    let count = ((warp.to_even(seconds) - first_s) / period_s).clamp(0.0, 1e6) as usize;
    let beats_s: Vec<f64> = (0..=count)
        .map(|beat| warp.to_file(first_s + beat as f64 * period_s))
        .filter(|&beat_s| beat_s < seconds)
        .collect();
    let downbeat = before.rem_euclid(choice.metre as f64) as usize;
    let mut gaps: Vec<f64> = beats_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    gaps.sort_by(f64::total_cmp);
    let middle_s = gaps.get(gaps.len() / 2).copied().unwrap_or(period_s);
    Grid {
        tempo_bpm: Some(60.0 / middle_s),
        beat_offset_s: beats_s.first().copied(),
        kind: GridKind::Drifting,
        beats_per_bar: Some(choice.metre as u32),
        first_downbeat_s: beats_s.get(downbeat).copied(),
        beats_s,
        swing: None,
        sure_tempo: proof.sure_tempo(),
        sure_downbeat: proof.sure_downbeat(),
    }
}
