//! From measured passages to moves, in stages.

use cupel_barmap::LowPlace;
use cupel_compare::Cells;
use cupel_session::{By, Move, Parameters, Target, Targets, round_for_hand};
use cupel_units::{Group, Role};
use rayon::prelude::*;
use serde::Serialize;

use crate::anchor::anchor_trim_db;
use crate::audible::{Audible, audible};
use crate::few::by_effect;
use crate::hits::{LowHit, Polarity, polarity};
use crate::lean::{Beam, LeanElement, beams, pans};
use crate::levels::{LevelInput, LevelTrack, Levels, Prints, ReferenceKind, Told, usual_gain_db};
use crate::mix_scene::MixScene;
use crate::path::{Path, path};
use crate::prior::usual_level;
use crate::reasons::{Ownership, reason};
use crate::remains::{Remains, band_differences, remains};

/// A round turns on at most this many moves of single tracks.
const MOST_MOVES: usize = 7;

/// A band with less than this part of the track's loudest (-12 dB) is not its home.
const OWN_PART: f64 = 0.06;

/// A track as measured.
#[derive(Clone, Debug)]
pub struct MeasuredTrack<'a> {
    /// Id in the session.
    pub id: &'a str,
    /// Its role, where known.
    pub role: Option<Role>,
    /// Whether it is part of the anchor.
    pub is_kick: bool,
    /// Whether its file has one channel.
    pub is_mono: bool,
    /// Integrated loudness of the whole track.
    pub lufs: Option<f64>,
    /// Whether it sounds in the passage.
    pub sounds: bool,
    /// Gain set by moves that stay, relative to the trim of all; the track is
    /// then not moved.
    pub kept_gain_db: Option<f64>,
    /// Whether a pan that stays is set on it.
    pub pan_is_set: bool,
    /// Whether a turn of polarity that stays is set on it.
    pub polarity_is_set: bool,
}

/// The passage beside the reference's.
#[derive(Clone, Copy)]
pub struct Beside<'a> {
    /// The tracks together.
    pub scene: &'a MixScene,
    /// The reference, where there is one.
    pub reference: Option<&'a Cells>,
    /// The reference as a print of this mix, where it may be one.
    pub prints: Option<&'a Prints<'a>>,
    /// Tracks of one role that sound together.
    pub elements: &'a [LeanElement<'a>],
    /// Kick and bass below 150 Hz, hit by hit.
    pub low_hits: &'a [LowHit],
    /// Bands (low and high edge, hertz) in which other things play.
    pub elsewhere_hz: &'a [(f64, f64)],
}

/// Which stages are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stages {
    /// One trim of all tracks brings the kick to its peak.
    pub anchor: bool,
    /// Kick and bass.
    pub low_end: bool,
    /// Snare and clap, hats, lead, voice.
    pub core: bool,
    /// The other tracks.
    pub rest: bool,
    /// Left and right.
    pub lean: bool,
    /// Headroom and sections.
    pub check: bool,
}

impl Default for Stages {
    fn default() -> Self {
        Self {
            anchor: true,
            low_end: true,
            core: true,
            rest: true,
            lean: true,
            check: true,
        }
    }
}

impl Stages {
    /// The names, in order, as in moves.
    pub const NAMES: [&'static str; 6] = ["anchor", "low end", "core", "rest", "lean", "check"];

    /// Whether a stage of that name is asked for; others always are.
    pub fn has(&self, stage: &str) -> bool {
        match stage {
            "anchor" => self.anchor,
            "low end" => self.low_end,
            "core" => self.core,
            "rest" => self.rest,
            "lean" => self.lean,
            "check" => self.check,
            _ => true,
        }
    }
}

/// What the balance works on.
#[derive(Clone)]
pub struct BalanceInput<'a> {
    /// The tracks that are part of the sum.
    pub tracks: &'a [MeasuredTrack<'a>],
    /// The passages; without them only the anchor is set.
    pub beside: Option<Beside<'a>>,
    /// Sample peak of the kick element, as exported, in dBFS.
    pub kick_peak_dbfs: Option<f64>,
    /// A trim of all tracks that stays: no new one is made.
    pub kept_trim_db: Option<f64>,
    /// What to aim at.
    pub targets: Targets,
    /// Stages asked for.
    pub stages: Stages,
    /// Turn on every move, not only the few that do most.
    pub all: bool,
    /// Neither round moves nor drop small ones.
    pub exact: bool,
    /// Whether what is usual for a role counts beside the reference.
    pub usual: bool,
}

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
        result.moves.extend(turn(input, result.polarity));
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

fn kept_gains(input: &BalanceInput<'_>) -> Vec<f64> {
    let tracks = input.tracks.iter();
    tracks
        .map(|track| track.kept_gain_db.unwrap_or(0.0))
        .collect()
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
fn faders(
    input: &BalanceInput<'_>,
    beside: &Beside<'_>,
    reference: &Cells,
    most: usize,
    result: &mut Balance,
) -> Vec<(usize, Move)> {
    let known: Vec<LevelTrack> = input.tracks.iter().map(|t| level_track(t, input)).collect();
    let levels_input = LevelInput {
        scene: beside.scene,
        reference,
        prints: beside.prints,
        tracks: &known,
        anchor_lufs: anchor_lufs(input.tracks),
        anchor_lu: anchor_lu(input.tracks),
        limit_db: input.targets.limit_db,
        usual: input.usual,
    };
    let levels = Levels::of(&levels_input);
    let as_is = kept_gains(input);
    let ids: Vec<&str> = input.tracks.iter().map(|track| track.id).collect();
    result.reference = Some(levels.kind);
    result.print_spread_db = levels.print_spread_db;
    result.cannot_tell = cannot_tell(input, &levels, &ids);
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

/// Bass note against kick, mix less reference, dB.
fn against_kick_db(mix: &Cells, reference: &Cells) -> Option<f64> {
    let relation = |cells: &Cells| {
        let power = |place: LowPlace| cells.powers[cells.layout.low(place)];
        let (note, kick) = power(LowPlace::Note).zip(power(LowPlace::KickBody))?;
        (note > 0.0 && kick > 0.0).then(|| 10.0 * (note / kick).log10())
    };
    Some(relation(mix)? - relation(reference)?)
}

/// A track's share of every band over the bar; 0 where the band holds next to
/// nothing of its loudness.
fn band_shares(scene: &MixScene, gain_db: &[f64], track: usize) -> Vec<f64> {
    let layout = &scene.layout;
    let gain = |t: usize| 10f64.powf(gain_db[t] / 10.0);
    let over_bar = |band: usize, t: usize| -> f64 {
        let cells = (0..layout.slots).map(|slot| layout.whole(band, slot));
        cells.map(|cell| gain(t) * scene.scene.alone(t, cell)).sum()
    };
    let own: Vec<f64> = (0..layout.bands.len())
        .map(|band| over_bar(band, track))
        .collect();
    let loud: Vec<f64> = own
        .iter()
        .zip(layout.band_weights())
        .map(|(p, w)| p * w)
        .collect();
    let loudest = loud.iter().copied().fold(0.0, f64::max);
    (0..layout.bands.len())
        .map(|band| {
            let sum: f64 = (0..gain_db.len()).map(|t| over_bar(band, t)).sum();
            match sum > 0.0 && loud[band] > OWN_PART * loudest {
                true => own[band] / sum,
                false => 0.0,
            }
        })
        .collect()
}

/// A move in steps a hand can set; `None` where it is too small to be worth it.
fn presentable(step: Move, role: Option<Role>, exact: bool) -> Option<Move> {
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

/// The bass turned over, where that helps.
fn turn(input: &BalanceInput<'_>, found: Option<Polarity>) -> Vec<Move> {
    let Some(Polarity::Turn { gain_db, hits }) = found else {
        return Vec::new();
    };
    let is_bass = |track: &&MeasuredTrack<'_>| {
        track.role.is_some_and(|role| role.group() == Group::LowEnd) && !track.is_kick
    };
    let basses: Vec<&MeasuredTrack<'_>> = input.tracks.iter().filter(is_bass).collect();
    if basses.iter().any(|track| track.polarity_is_set) {
        return Vec::new();
    }
    let why = format!(
        "kick and bass cancel below 150 Hz: turned over, their sum gains {gain_db:.1} dB \
         (median of {hits} hits where both sound)"
    );
    basses
        .iter()
        .map(|track| {
            let target = Target::Track(track.id.to_owned());
            Move::new(
                target,
                Parameters::Polarity {},
                By::Cupel,
                "low end",
                why.clone(),
            )
        })
        .collect()
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
