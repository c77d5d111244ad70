//! Tempo, beats and bars of a file, from its onsets.
//!
//! Music made on a grid has one tempo and one offset; both are fitted to all
//! onsets. Which octave, metre and bar line a grid has is chosen among
//! candidates by weights fitted on generated pieces.

use crate::bar_choice::choose_bar;
use crate::beat_choice::choose_beats;
use crate::drift::follow;
use crate::onset_meter::OnsetCurve;
use crate::pulse::Pulse;
use crate::steadiness::{Kind, steadiness};
use crate::swing::swing;
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

/// Finds the grid of a file.
///
/// Empty input, silence and sounds without beats give [`GridKind::CannotTell`]
/// with nothing else. A range or given tempo that is not finite and positive is
/// not heeded.
pub fn find_grid(curve: &OnsetCurve, settings: &TempoSettings) -> Grid {
    let Some(pulse) = Pulse::of(curve) else {
        return Grid::cannot_tell();
    };
    let Some(choice) = choose_beats(curve, &pulse, settings) else {
        return Grid::cannot_tell();
    };
    let (kind, trust) = steadiness(curve, choice.beats, settings.given_bpm.is_some());
    match kind {
        Kind::Steady => {}
        Kind::Loose => {
            return match follow(curve) {
                Some(drift) => drifting(drift),
                None => Grid::cannot_tell(),
            };
        }
        Kind::Beatless => return Grid::cannot_tell(),
    }
    let sure_tempo = choice.sure * trust;
    let bar = choose_bar(curve, choice.beats);
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
        beats_per_bar: Some(bar.metre as u32),
        first_downbeat_s: Some(first(bar.first_s, bar.metre as f64 * period_s)),
        swing: swing(curve, choice.beats),
        sure_tempo,
        sure_downbeat: choice.sure_place * trust * bar.sure,
    }
}

fn drifting(drift: crate::drift::Drift) -> Grid {
    Grid {
        tempo_bpm: Some(drift.tempo_bpm),
        beat_offset_s: drift.beats_s.first().copied(),
        kind: GridKind::Drifting,
        beats_s: drift.beats_s,
        sure_tempo: drift.sure,
        ..Grid::cannot_tell()
    }
}
