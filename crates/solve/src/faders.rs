//! Levels as fader moves, with what each does, and what is told beside them.

use cupel_compare::Cells;
use cupel_session::{By, Move, Parameters, Target};
use cupel_units::{Group, Role};
use rayon::prelude::*;

use crate::audible::audible;
use crate::balance::{Balance, BandLeft, CannotTell, MOST_MOVES, presentable};
use crate::few::by_effect;
use crate::input::{BalanceInput, Beside, MeasuredTrack};
use crate::lean::beams;
use crate::levels::{LevelInput, LevelTrack, Levels, ReferenceKind, Told, usual_gain_db};
use crate::ownership::{against_kick_db, band_shares};
use crate::path::path;
use crate::prior::usual_level;
use crate::reasons::{Ownership, reason};
use crate::remains::{band_differences, remains};

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
    let before: Vec<Option<f64>> = result.bands.iter().map(|band| band.before_db).collect();

    let against_kick_db = against_kick_db(&beside.scene.cells(&as_is), reference);
    let edges_hz: Vec<(f64, f64)> = layout.bands.iter().map(|b| (b.low_hz, b.high_hz)).collect();
    let moves: Vec<Option<Move>> = (0..known.len())
        .map(|t| {
            if !matches!(levels.told[t], Told::Fitted | Told::AsOneWith(_)) {
                return None;
            }
            let share = band_shares(beside.scene, &as_is, t);
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
                    ReferenceKind::Song => usual_gain_db(&levels_input, t),
                },
                role: input.tracks[t].role,
            };
            let gain_db = levels.gain_db[t];
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
        let mut gains = as_is.clone();
        for &t in made {
            gains[t] += gain_of(t);
        }
        levels.cost(&levels_input, &gains)
    };
    let order = in_order(&candidates, &cost);
    let gains: Vec<(usize, &str, f64)> = order.iter().map(|&t| (t, ids[t], gain_of(t))).collect();
    result.path = path(beside.scene, reference, &as_is, &gains);
    order
        .iter()
        .enumerate()
        .filter_map(|(place, &t)| {
            let mut step = moves[t].clone()?;
            step.on = (input.all || place < most) && input.stages.has(&step.stage);
            Some((t, step))
        })
        .collect()
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

/// Loudness of the anchor's tracks together, as powers.
fn anchor_lufs(tracks: &[MeasuredTrack<'_>]) -> Option<f64> {
    let powers = tracks.iter().filter(|track| track.is_kick);
    let sum: f64 = powers
        .filter_map(|track| track.lufs)
        .map(|lufs| 10f64.powf(lufs / 10.0))
        .sum();
    (sum > 0.0).then(|| 10.0 * sum.log10())
}

/// What is usual for the anchor beside a kick.
fn anchor_lu(tracks: &[MeasuredTrack<'_>]) -> f64 {
    let anchor = tracks.iter().find(|track| track.is_kick);
    anchor.map_or(0.0, |track| usual_level(track.role).mean_lu)
}

fn cannot_tell(input: &BalanceInput<'_>, levels: &Levels, ids: &[&str]) -> Vec<CannotTell> {
    let told = input.tracks.iter().zip(&levels.told);
    told.filter_map(|(track, told)| {
        let why = match told {
            Told::Silent => "silent in the passage".to_owned(),
            Told::Buried => "buried under the others, here and in the reference".to_owned(),
            Told::AsOneWith(other) => {
                format!(
                    "as good as the same as {}; moved along with it",
                    ids[*other]
                )
            }
            Told::Fitted | Told::Settled => return None,
        };
        Some(CannotTell {
            track: track.id.to_owned(),
            why,
        })
    })
    .collect()
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

/// Writes down what the levels tell, beside the moves.
fn tell(
    input: &BalanceInput<'_>,
    beside: &Beside<'_>,
    (reference, levels): (&Cells, &Levels),
    result: &mut Balance,
) {
    let as_is = kept_gains(input);
    let ids: Vec<&str> = input.tracks.iter().map(|track| track.id).collect();
    result.reference = Some(levels.kind);
    result.print = levels.print_place();
    result.print_spread_db = levels.print_spread_db;
    result.cannot_tell = cannot_tell(input, levels, &ids);
    result.spreads = input
        .tracks
        .iter()
        .zip(&levels.spread_db)
        .zip(&levels.told)
        .filter(|(_, told)| matches!(told, Told::Fitted | Told::AsOneWith(_)))
        .map(|((track, &spread_db), _)| (track.id.to_owned(), spread_db))
        .collect();
    let before = band_differences(&beside.scene.cells(&as_is), reference);
    let after = band_differences(&beside.scene.cells(&levels.gain_db), reference);
    let layout = &beside.scene.layout;
    result.bands = layout
        .bands
        .iter()
        .zip(before.iter().zip(&after))
        .map(|(band, (&before_db, &after_db))| BandLeft {
            centre_hz: band.centre_hz(),
            before_db,
            after_db,
        })
        .collect();
    let spans = (as_is.as_slice(), levels.gain_db.as_slice());
    result.remains = remains(beside.scene, reference, &ids, spans, beside.elsewhere_hz);
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
