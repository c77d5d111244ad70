//! From measured passages to moves, in stages.

use cupel_session::{By, Move, Target, round_for_hand};
use cupel_units::{Group, Role};
use serde::Serialize;

use crate::anchor::trim_move;
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
    let mut result = Balance::default();
    let Some(beside) = &input.beside else {
        result.moves.extend(trim_move(input, 0.0));
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
    let most = MOST_MOVES.saturating_sub(singles.filter(|step| step.on).count());
    let mut anchor_db = 0.0;
    if let Some(reference) = beside.reference {
        let faders = faders(input, beside, reference, most, &mut result);
        for (track, step) in &faders {
            if step.on {
                let gain_db = step.parameters.gain_db().unwrap_or(0.0);
                now_db[*track] += gain_db;
                anchor_db += if input.tracks[*track].is_kick {
                    gain_db
                } else {
                    0.0
                };
            }
        }
        result
            .moves
            .extend(faders.into_iter().map(|(_, step)| step));
    }
    result.moves.extend(pans);
    result.moves.splice(0..0, trim_move(input, anchor_db));
    result.audible = audible(beside.scene, &now_db, beside.elements);
    result.beams = beams(beside.scene, &now_db, beside.elements);
    result
        .moves
        .sort_by_key(|step| cupel_session::stage_rank(&step.stage));
    result
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
