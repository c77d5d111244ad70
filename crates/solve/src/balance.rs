//! From measured passages to moves, in stages.

use cupel_session::{By, Move, Parameters, Target, round_for_hand};
use cupel_units::{Group, Role};
use serde::Serialize;

use crate::anchor::anchor_trim_db;
use crate::audible::{Audible, audible};
use crate::faders::{faders, kept_gains};
use crate::hits::{Polarity, polarity};
use crate::input::{BalanceInput, Beside};
use crate::lean::{Beam, beams, pans};
use crate::levels::{PrintPlace, ReferenceKind};
use crate::low_moves::low_moves;
use crate::path::Path;
use crate::remains::Remains;
use crate::shift::{Offset, offset};

/// A round turns on at most this many moves of single tracks.
pub(crate) const MOST_MOVES: usize = 7;

/// A track the passage tells nothing about, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CannotTell {
    /// Id of the track.
    pub track: String,
    /// Why, in words.
    pub why: String,
}

/// What remains of one band after the balance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandLeft {
    /// Middle of the band, in hertz.
    pub centre_hz: f64,
    /// Mix less reference at equal loudness before the moves, in dB.
    pub before_db: Option<f64>,
    /// The same as predicted after all moves, also those that are off, in dB.
    pub after_db: Option<f64>,
}

/// The moves and what they do.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Balance {
    /// Moves in the order to do them.
    pub moves: Vec<Move>,
    /// What kind of reference it is; `None` without one.
    pub reference: Option<ReferenceKind>,
    /// Where and how it was read, where it is a print.
    pub print: Option<PrintPlace>,
    /// How well a print of this mix would agree with it, cell by cell, dB.
    pub print_spread_db: Option<f64>,
    /// How far off each level may be: id and spread in dB.
    pub spreads: Vec<(String, f64)>,
    /// Differences by band.
    pub bands: Vec<BandLeft>,
    /// Tracks about which the passage tells nothing.
    pub cannot_tell: Vec<CannotTell>,
    /// The distance, move by move: first those that are on, those that do most first.
    pub path: Path,
    /// What no fader mends.
    pub remains: Vec<Remains>,
    /// How far each element is heard with the moves that are on.
    pub audible: Vec<Audible>,
    /// How the elements lean with the moves that are on.
    pub beams: Vec<Beam>,
    /// Whether kick and bass help each other.
    pub polarity: Option<Polarity>,
    /// Whether they would, a little apart.
    pub offset: Option<Offset>,
}

/// Computes the moves.
pub fn balance(input: &BalanceInput<'_>) -> Balance {
    let mut result = Balance {
        moves: anchor(input),
        ..Balance::default()
    };
    let Some(beside) = &input.beside else {
        return result;
    };
    let mut now_db = kept_gains(input);
    // What is plainly wrong comes before levels.
    if input.stages.low_end {
        result.polarity = (!beside.low_hits.is_empty()).then(|| polarity(beside.low_hits));
        result.offset = beside.low_waves.map(|waves| offset(waves, result.polarity));
        result.moves.extend(low_moves(input, &result));
    }
    let pans = match input.stages.lean {
        true => lean_moves(input, beside, &now_db),
        false => Vec::new(),
    };
    let singles = result.moves.iter().chain(&pans);
    let taken = singles.filter(|step| step.on && step.target != Target::All);
    let most = MOST_MOVES.saturating_sub(taken.count());
    if let Some(reference) = beside.reference {
        let faders = faders(input, beside, reference, most, &mut result);
        for (track, step) in &faders {
            if step.on {
                now_db[*track] += step.parameters.gain_db().unwrap_or(0.0);
            }
        }
        result
            .moves
            .extend(faders.into_iter().map(|(_, step)| step));
    }
    result.moves.extend(pans);
    result.audible = audible(beside.scene, &now_db, beside.elements);
    result.beams = beams(beside.scene, &now_db, beside.elements);
    result
        .moves
        .sort_by_key(|step| cupel_session::stage_rank(&step.stage));
    result
}

fn anchor(input: &BalanceInput<'_>) -> Vec<Move> {
    let (None, Some(peak_dbfs)) = (input.kept_trim_db, input.kick_peak_dbfs) else {
        return Vec::new();
    };
    let anchored = input.tracks.iter().find(|track| track.is_kick);
    let what = match anchored.and_then(|track| track.role) {
        Some(Role::Kick) | None => "the kick".to_owned(),
        Some(role) => format!("there is no kick; the loudest low element, the {role},"),
    };
    let why = format!(
        "{what} peaks at {peak_dbfs:.1} dBFS; its anchor is {:.1} dBFS",
        input.targets.kick_peak_dbfs
    );
    let gain_db = anchor_trim_db(peak_dbfs, &input.targets);
    let mut step = Move::new(
        Target::All,
        Parameters::Trim { gain_db },
        By::Cupel,
        "anchor",
        why,
    );
    step.on = input.stages.anchor;
    vec![step]
}

/// A move in steps a hand can set; `None` where it is too small to be worth it.
pub(crate) fn presentable(step: Move, role: Option<Role>, exact: bool) -> Option<Move> {
    if exact {
        return Some(step);
    }
    let is_low_end = role.is_some_and(|r| r == Role::Kick || r.group() == Group::LowEnd);
    let rounded = round_for_hand(&step, is_low_end)?;
    let small = rounded
        .parameters
        .gain_db()
        .is_some_and(|gain_db| gain_db.abs() < 1.0);
    (!small).then_some(rounded)
}

fn lean_moves(input: &BalanceInput<'_>, beside: &Beside<'_>, now_db: &[f64]) -> Vec<Move> {
    let mono: Vec<bool> = input.tracks.iter().map(|track| track.is_mono).collect();
    let settled: Vec<bool> = input.tracks.iter().map(|t| t.pan_is_set).collect();
    pans(beside.scene, now_db, beside.elements, &mono, &settled)
        .into_iter()
        .filter_map(|pan| {
            let target = Target::Track(input.tracks[pan.track].id.to_owned());
            let mut step = Move::new(target, pan.parameters, By::Cupel, "lean", pan.why);
            step.on = pan.matters || input.all;
            presentable(step, input.tracks[pan.track].role, input.exact)
        })
        .collect()
}
