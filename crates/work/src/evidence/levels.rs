//! How far the levels are off, as the solver reads them, whatever moves there are.

use cupel_compare::Cells;
use cupel_findings::LevelFacts;
use cupel_rhythm::Grid;
use cupel_solve::{
    LevelInput, LevelTrack, Levels, Prints, ReferenceKind, Remains, Told, remains, usual_level,
};
use cupel_store::hash_of_parts;
use cupel_units::Role;
use serde::{Deserialize, Serialize};

use crate::beside::{Passage, may_be_print, print_passage};
use crate::figures::plan_key;
use crate::{Assayed, Context};

/// Changes whenever the solver may say something else of the same passages.
const LEVELS_VERSION: u32 = 3;
const LEVELS: &str = "levels told";

/// What the solver says of levels.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct ToldLevels {
    /// By track in plan order.
    pub(super) levels: Vec<Option<LevelFacts>>,
    /// Whether the reference is this mix itself.
    pub(super) is_print: bool,
    /// What the best balance leaves.
    pub(super) remains: Vec<Remains>,
}

pub(super) fn of(
    assayed: &Assayed,
    passage: Option<&Passage>,
    context: &Context<'_>,
) -> ToldLevels {
    let tracks = known(assayed);
    let anchor_lufs = anchor_lufs(&tracks);
    let anchor_role = tracks.iter().find(|track| track.is_anchor);
    let anchor_lu = anchor_role.map_or(0.0, |track| usual_level(track.role).mean_lu);
    let usual_gain_db = |track: &LevelTrack| -> Option<f64> {
        let usual = usual_level(Some(track.role?)).mean_lu - anchor_lu;
        Some(usual - (track.lufs? - anchor_lufs?))
    };
    let Some((passage, reference)) = passage.and_then(|p| Some((p, p.reference.as_ref()?))) else {
        return ToldLevels {
            levels: tracks
                .iter()
                .map(|track| by_role_alone(track, usual_gain_db(track)))
                .collect(),
            ..ToldLevels::default()
        };
    };
    let prints = |semitones: i32, bars: i32| print_passage(assayed, semitones, bars, context);
    let prints = may_be_print(assayed).then_some(&prints as &Prints<'_>);
    let input = LevelInput {
        scene: &passage.scene,
        reference,
        prints,
        tracks: &tracks,
        anchor_lufs,
        anchor_lu,
        limit_db: assayed.surveyed.session.targets.limit_db,
        usual: true,
    };
    let key = key(assayed, &tracks, input.limit_db);
    if let Some(told) = context.store.get(LEVELS, LEVELS_VERSION, &key) {
        return told;
    }
    let (both, alone) = Levels::with_and_without_usual(&input);
    let fitted = |levels: &Levels, t: usize| {
        matches!(levels.told[t], Told::Fitted | Told::AsOneWith(_)).then(|| levels.gain_db[t])
    };
    // An anchor that is off beside most tracks is told as off itself, and the others
    // beside it where it should be.
    let anchors = tracks.iter().filter(|track| track.is_anchor).count();
    let off = both.anchor_off().filter(|_| anchors == 1);
    let anchor_db = off.map_or(0.0, |off| off.gain_db);
    let asked_db = both.moves_db(anchor_db, true);
    let levels = (0..tracks.len())
        .map(|t| match (off, tracks[t].is_anchor) {
            (Some(off), true) => Some(LevelFacts {
                asked_gain_db: off.gain_db,
                reference_gain_db: Some(off.gain_db),
                usual_gain_db: None,
                spread_db: middle(&both.spread_db),
            }),
            _ => Some(LevelFacts {
                asked_gain_db: fitted(&both, t).map(|_| asked_db[t])?,
                reference_gain_db: fitted(&alone, t).map(|db| db + anchor_db),
                usual_gain_db: usual_gain_db(&tracks[t]).map(|db| db + anchor_db),
                spread_db: both.spread_db[t],
            }),
        })
        .collect();
    let told = ToldLevels {
        levels,
        is_print: both.kind == ReferenceKind::Print,
        remains: left(assayed, passage, reference, &both),
    };
    let _ = context.store.put(LEVELS, LEVELS_VERSION, &key, &told);
    told
}

/// The middle one of the spreads that are known.
fn middle(spreads_db: &[f64]) -> f64 {
    let mut known: Vec<f64> = spreads_db.iter().copied().filter(|db| *db > 0.0).collect();
    known.sort_by(f64::total_cmp);
    known.get(known.len() / 2).copied().unwrap_or(0.0)
}

/// All that the levels told depend on: the samples of both sides, what is known of
/// them, and where they are read.
fn key(assayed: &Assayed, tracks: &[LevelTrack], limit_db: f64) -> String {
    let mut parts = plan_key(&assayed.surveyed, &assayed.plan);
    let reference = assayed.surveyed.reference.as_ref();
    parts.extend(reference.map(|file| file.measured.content.clone()));
    parts.push(format!("{tracks:?} {limit_db}"));
    let passages = assayed.passages.as_ref();
    let stretches = passages.map(|p| (p.stretch, p.reference.as_ref().map(|r| r.stretch)));
    parts.push(format!("{stretches:?}"));
    if let Some(bars) = &assayed.bars {
        parts.push(format!("{:?} {:?}", bars.mix.lines, bars.mix.guide));
        let other = bars.reference.as_ref();
        let other = other.map(|side| (&side.lines, &side.guide));
        parts.push(format!("{other:?} {:?}", bars.arrangement));
    }
    let grid = &assayed.music.grid;
    let other = assayed.reference_music.as_ref().map(|music| &music.grid);
    let beat = |grid: &Grid| (grid.tempo_bpm, grid.first_downbeat_s);
    parts.push(format!("{:?} {:?}", beat(grid), other.map(beat)));
    hash_of_parts(parts.iter().map(String::as_str))
}

fn left(assayed: &Assayed, passage: &Passage, reference: &Cells, levels: &Levels) -> Vec<Remains> {
    let ids: Vec<&str> = assayed.plan.tracks.iter().map(|t| t.id.as_str()).collect();
    let as_is = vec![0.0; ids.len()];
    let elsewhere_hz: Vec<(f64, f64)> = assayed.bars.as_ref().map_or_else(Vec::new, |bars| {
        let bands = bars.arrangement.iter();
        bands.map(|band| (band.low_hz, band.high_hz)).collect()
    });
    let spans = (as_is.as_slice(), levels.gain_db.as_slice());
    remains(&passage.scene, reference, &ids, spans, &elsewhere_hz)
}

/// What is known of the tracks, in plan order, without any move.
fn known(assayed: &Assayed) -> Vec<LevelTrack> {
    let kick = assayed.kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
    let planned = assayed.plan.tracks.iter().enumerate();
    planned
        .map(|(place, planned)| {
            let mut states = assayed.surveyed.included();
            let found = states.find(|(state, _)| state.track.id == planned.id);
            let sounds = assayed.passages.as_ref().is_some_and(|passages| {
                let track = passages.tracks.get(place);
                track.is_some_and(|track| track.integrated_lufs.is_some())
            });
            LevelTrack {
                role: found.and_then(|(state, _)| state.track.role),
                is_anchor: kick.contains(&planned.id),
                lufs: found.and_then(|(_, file)| file.summary().integrated_lufs),
                sounds,
                kept_gain_db: None,
            }
        })
        .collect()
}

fn by_role_alone(track: &LevelTrack, usual_gain_db: Option<f64>) -> Option<LevelFacts> {
    let role: Role = track.role?;
    let usual = usual_gain_db.filter(|_| !track.is_anchor)?;
    Some(LevelFacts {
        asked_gain_db: usual,
        reference_gain_db: None,
        usual_gain_db: Some(usual),
        spread_db: usual_level(Some(role)).spread_db,
    })
}

/// Loudness of the anchor's tracks together, as powers.
fn anchor_lufs(tracks: &[LevelTrack]) -> Option<f64> {
    let anchors = tracks.iter().filter(|track| track.is_anchor);
    let sum: f64 = anchors
        .filter_map(|track| track.lufs)
        .map(|lufs| 10f64.powf(lufs / 10.0))
        .sum();
    (sum > 0.0).then(|| 10.0 * sum.log10())
}
