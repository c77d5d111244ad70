//! Levels as fader moves, with what each does, and what is told beside them.

use cupel_compare::Cells;
use cupel_session::{By, Move, Parameters, Target};
use cupel_units::{Group, Role};
use rayon::prelude::*;

use crate::anchor::{anchor_lu, anchor_lufs, anchor_move};
use crate::audible::audible;
use crate::balance::{Balance, MOST_MOVES, presentable};
use crate::few::by_effect;
use crate::input::{BalanceInput, Beside, MeasuredTrack};
use crate::lean::beams;
use crate::levels::{LevelInput, LevelTrack, Levels, ReferenceKind, Told, usual_gain_db};
use crate::ownership::{against_kick_db, band_shares};
use crate::path::path;
use crate::reasons::{Ownership, reason};
use crate::remains::band_differences;
use crate::tell::tell;

/// The stage a track's level belongs to.
fn stage(role: Option<Role>) -> &'static str {
    use Role::{Bass, Clap, ClosedHat, Kick, Lead, OpenHat, Snare, Sub, Voice};
    match role {
        Some(Bass | Sub | Kick) => "low end",
        Some(Snare | Clap | ClosedHat | OpenHat | Lead | Voice) => "core",
        _ => "rest",
    }
}

/// Fader moves with the places of their tracks: first those that are on, in the
/// order of what they do.
pub(crate) fn faders(
    input: &BalanceInput<'_>,
    beside: &Beside<'_>,
    reference: &Cells,
    most: usize,
    result: &mut Balance,
) -> Vec<(usize, Move)> {
    let known: Vec<LevelTrack> = input.tracks.iter().map(|t| level_track(t, input)).collect();
    let levels_input = level_input(input, beside, reference, &known);
    let levels = Levels::of(&levels_input);
    let as_is = kept_gains(input);
    let ids: Vec<&str> = input.tracks.iter().map(|track| track.id).collect();
    // A print is compared where it was found to agree.
    let reference = levels.matched.as_ref().unwrap_or(reference);
    tell(input, beside, (reference, &levels), result);
    let layout = &beside.scene.layout;
    let anchor = anchor_move(input, &levels);
    let anchor_db = anchor
        .as_ref()
        .and_then(|(_, step)| step.parameters.gain_db())
        .unwrap_or(0.0);
    let gains_db = levels.moves_db(anchor_db, input.exact);
    // All else is told as it stands beside the anchor where that will be.
    let mut from = as_is.clone();
    if let Some((place, _)) = &anchor {
        from[*place] += anchor_db;
    }
    let now = beside.scene.cells(&from);
    let before = band_differences(&now, reference);
    let against_kick_db = against_kick_db(&now, reference);
    let edges_hz: Vec<(f64, f64)> = layout.bands.iter().map(|b| (b.low_hz, b.high_hz)).collect();
    let moves: Vec<Option<Move>> = (0..known.len())
        .map(|t| {
            if !matches!(levels.told[t], Told::Fitted | Told::AsOneWith(_)) {
                return None;
            }
            let share = band_shares(beside.scene, &from, t);
            let is_bass = input.tracks[t]
                .role
                .is_some_and(|r| r.group() == Group::LowEnd);
            let ownership = Ownership {
                edges_hz: &edges_hz,
                share: &share,
                before_db: &before,
                against_kick_db: against_kick_db.filter(|_| is_bass),
                usual_gain_db: match levels.kind {
                    ReferenceKind::Print => None,
                    ReferenceKind::Song => usual_gain_db(&levels_input, t).map(|db| db + anchor_db),
                },
                role: input.tracks[t].role,
            };
            let gain_db = gains_db[t];
            let why = reason(&ownership, gain_db);
            let step = Move::new(
                Target::Track(ids[t].to_owned()),
                Parameters::Fader { gain_db },
                By::Cupel,
                stage(input.tracks[t].role),
                why,
            );
            presentable(step, input.tracks[t].role, input.exact)
        })
        .collect();
    let gain_of = |t: usize| {
        let step = moves[t].as_ref();
        step.and_then(|step| step.parameters.gain_db())
            .unwrap_or(0.0)
    };
    let candidates: Vec<usize> = (0..moves.len()).filter(|&t| moves[t].is_some()).collect();
    let cost = |made: &[usize]| {
        let mut gains = from.clone();
        for &t in made {
            gains[t] += gain_of(t);
        }
        levels.cost(&levels_input, &gains)
    };
    // The anchor comes first, for all others stand beside it.
    let found: Vec<(usize, Move)> = anchor
        .into_iter()
        .chain(
            in_order(&candidates, &cost)
                .into_iter()
                .filter_map(|t| Some((t, moves[t].clone()?))),
        )
        .enumerate()
        .map(|(place, (t, mut step))| {
            step.on = (input.all || place < most) && input.stages.has(&step.stage);
            (t, step)
        })
        .collect();
    let gains: Vec<(usize, &str, f64)> = found
        .iter()
        .map(|(t, step)| (*t, ids[*t], step.parameters.gain_db().unwrap_or(0.0)))
        .collect();
    result.path = path(beside.scene, reference, &as_is, &gains);
    found
}

/// All candidates in the order of what they do; the first few exactly, the others
/// by what each does after those.
fn in_order(candidates: &[usize], cost: &(impl Fn(&[usize]) -> f64 + Sync)) -> Vec<usize> {
    let first = by_effect(candidates, MOST_MOVES, cost);
    let mut rest: Vec<(f64, usize)> = candidates
        .par_iter()
        .filter(|candidate| !first.contains(candidate))
        .map(|&candidate| {
            let with: Vec<usize> = first.iter().copied().chain([candidate]).collect();
            (cost(&with), candidate)
        })
        .collect();
    rest.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    first
        .into_iter()
        .chain(rest.into_iter().map(|(_, t)| t))
        .collect()
}

fn level_track(track: &MeasuredTrack<'_>, input: &BalanceInput<'_>) -> LevelTrack {
    let switched_off = !input.stages.has(stage(track.role));
    let kept = track.kept_gain_db;
    LevelTrack {
        role: track.role,
        is_anchor: track.is_kick,
        lufs: track.lufs,
        sounds: track.sounds,
        kept_gain_db: kept.or(switched_off.then_some(0.0)),
    }
}

/// What the levels are found from.
fn level_input<'a>(
    input: &BalanceInput<'_>,
    beside: &Beside<'a>,
    reference: &'a Cells,
    known: &'a [LevelTrack],
) -> LevelInput<'a> {
    LevelInput {
        scene: beside.scene,
        reference,
        prints: beside.prints,
        tracks: known,
        anchor_lufs: anchor_lufs(input.tracks),
        anchor_lu: anchor_lu(input.tracks),
        limit_db: input.targets.limit_db,
        usual: input.usual,
    }
}

/// What moves of single tracks that were made do, those that do most first, and what
/// no fader would mend: as [`balance`](crate::balance) tells it, of moves that stand
/// already. `made` has the places of the tracks and the gains in dB; the gains that
/// are kept come before them.
pub fn standing(input: &BalanceInput<'_>, made: &[(usize, f64)]) -> Balance {
    let mut result = Balance::default();
    let Some(beside) = &input.beside else {
        return result;
    };
    let as_is = kept_gains(input);
    let mut now_db = as_is.clone();
    made.iter().for_each(|&(t, gain_db)| now_db[t] += gain_db);
    if let Some(reference) = beside.reference {
        let known: Vec<LevelTrack> = input.tracks.iter().map(|t| level_track(t, input)).collect();
        let levels_input = level_input(input, beside, reference, &known);
        let levels = Levels::of(&levels_input);
        let reference = levels.matched.as_ref().unwrap_or(reference);
        tell(input, beside, (reference, &levels), &mut result);
        let cost = |done: &[usize]| {
            let mut gains = as_is.clone();
            done.iter().for_each(|&m| gains[made[m].0] += made[m].1);
            levels.cost(&levels_input, &gains)
        };
        let candidates: Vec<usize> = (0..made.len()).collect();
        let order = in_order(&candidates, &cost);
        let gains: Vec<(usize, &str, f64)> = order
            .iter()
            .map(|&m| (made[m].0, input.tracks[made[m].0].id, made[m].1))
            .collect();
        result.path = path(beside.scene, reference, &as_is, &gains);
    }
    result.audible = audible(beside.scene, &now_db, beside.elements);
    result.beams = beams(beside.scene, &now_db, beside.elements);
    result
}

/// Gains of the moves that stay, dB by track.
pub(crate) fn kept_gains(input: &BalanceInput<'_>) -> Vec<f64> {
    let tracks = input.tracks.iter();
    tracks
        .map(|track| track.kept_gain_db.unwrap_or(0.0))
        .collect()
}
