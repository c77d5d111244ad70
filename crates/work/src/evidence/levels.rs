//! How far the levels are off, as the solver reads them, whatever moves there are.

use cupel_compare::Cells;
use cupel_findings::LevelFacts;
use cupel_solve::{
    LevelInput, LevelTrack, Levels, Prints, ReferenceKind, Remains, Told, remains, usual_level,
};
use cupel_units::Role;

use crate::beside::{Passage, may_be_print, print_passage};
use crate::{Assayed, Context};

/// What the solver says of levels.
#[derive(Debug, Default)]
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
    let both = Levels::of(&input);
    let alone = Levels::of(&LevelInput {
        usual: false,
        ..input
    });
    let fitted = |levels: &Levels, t: usize| {
        matches!(levels.told[t], Told::Fitted | Told::AsOneWith(_)).then(|| levels.gain_db[t])
    };
    let levels = (0..tracks.len())
        .map(|t| {
            Some(LevelFacts {
                asked_gain_db: fitted(&both, t)?,
                reference_gain_db: fitted(&alone, t),
                usual_gain_db: usual_gain_db(&tracks[t]),
                spread_db: both.spread_db[t],
            })
        })
        .collect();
    ToldLevels {
        levels,
        is_print: both.kind == ReferenceKind::Print,
        remains: left(assayed, passage, reference, &both),
    }
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
