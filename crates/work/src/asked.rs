//! What the solver is asked about a session.

use cupel_barmap::LowWaves;
use cupel_session::MoveKind;
use cupel_solve::{
    BalanceInput, Beside, LeanElement, MeasuredTrack, MonoLoss, Prints, mono_losses,
};
use cupel_units::db_to_amplitude;

use crate::balance::planned;
use crate::beside::Passage;
use crate::figures::indices;
use crate::kept::{Keeps, has_kept, kept_gain_db, kept_trim_db};
use crate::{Assayed, BalanceOptions};
use cupel_session::PanLaw;

/// What was heard of the passage.
#[derive(Clone, Copy, Default)]
pub(crate) struct HeardPassage<'a> {
    /// The passage in its cells.
    pub(crate) passage: Option<&'a Passage>,
    /// The reference as a print, where it may be one.
    pub(crate) prints: Option<&'a Prints<'a>>,
    /// Kick and bass around their hits.
    pub(crate) low_waves: Option<&'a LowWaves>,
}

/// Places in the plan of the tracks of every element.
fn element_places(assayed: &Assayed) -> Vec<Vec<usize>> {
    let elements = assayed.elements.iter();
    elements
        .map(|element| indices(&assayed.plan, &element.tracks))
        .collect()
}

fn lean_elements<'a>(assayed: &'a Assayed, places: &'a [Vec<usize>]) -> Vec<LeanElement<'a>> {
    let elements = assayed.elements.iter().zip(places);
    elements
        .map(|(element, tracks)| LeanElement {
            name: &element.name,
            role: element.role,
            tracks,
        })
        .collect()
}

/// What every element loses in mono with the moves that are on.
pub(crate) fn mono(assayed: &Assayed, passage: Option<&Passage>) -> Vec<MonoLoss> {
    let Some(passage) = passage else {
        return Vec::new();
    };
    let plan = planned(assayed);
    let gains: Vec<[f64; 2]> = plan
        .tracks
        .iter()
        .map(|track| {
            let group = track.group.and_then(|group| plan.groups.get(group));
            let group_db = group.map_or(0.0, |(_, settings)| settings.gain_db);
            let mut files = assayed.surveyed.included();
            let file = files.find(|(state, _)| state.track.id == track.id);
            let law = match file {
                Some((_, file)) if file.summary().channels == 1 => PanLaw::Mono,
                _ => PanLaw::Stereo,
            };
            let (left_db, right_db) = law.sides_db(track.strip.pan);
            let sign = if track.strip.inverted { -1.0 } else { 1.0 };
            let gain = sign * db_to_amplitude(track.strip.gain_db + group_db);
            [left_db, right_db].map(|db| gain * db.map_or(0.0, db_to_amplitude))
        })
        .collect();
    let places = element_places(assayed);
    mono_losses(&passage.scene, &gains, &lean_elements(assayed, &places))
}

/// Asks the solver about a session: `ask` gets all it works on. Moves that are not
/// kept are as if they were not there.
pub(crate) fn ask<T>(
    assayed: &Assayed,
    heard: &HeardPassage<'_>,
    (options, keeps): (BalanceOptions, Keeps),
    ask: impl FnOnce(&BalanceInput<'_>) -> T,
) -> T {
    let session = &assayed.surveyed.session;
    let kick = assayed.kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
    let measured = assayed.passages.as_ref().map_or(&[][..], |p| &p.tracks);
    let file_of = |id: &str| {
        let mut included = assayed.surveyed.included();
        included
            .find(|(state, _)| state.track.id == id)
            .map(|(_, file)| file)
    };
    let is_set = |id: &str, kind: MoveKind| has_kept(session, id, kind, keeps);
    let tracks: Vec<MeasuredTrack<'_>> = assayed
        .plan
        .tracks
        .iter()
        .enumerate()
        .map(|(place, track)| {
            let file = file_of(&track.id);
            MeasuredTrack {
                id: &track.id,
                role: session.track(&track.id).and_then(|t| t.role),
                is_kick: kick.contains(&track.id),
                is_mono: file.is_some_and(|file| file.summary().channels == 1),
                lufs: file.and_then(|file| file.summary().integrated_lufs),
                sounds: measured
                    .get(place)
                    .is_some_and(|p| p.integrated_lufs.is_some()),
                kept_gain_db: kept_gain_db(session, &track.id, keeps),
                pan_is_set: is_set(&track.id, MoveKind::Pan),
                polarity_is_set: is_set(&track.id, MoveKind::Polarity),
                offset_is_set: is_set(&track.id, MoveKind::Offset),
            }
        })
        .collect();
    let places = element_places(assayed);
    let elements = lean_elements(assayed, &places);
    let bars = assayed.bars.as_ref();
    let elsewhere_hz: Vec<(f64, f64)> = bars.map_or_else(Vec::new, |bars| {
        let bands = bars.arrangement.iter();
        bands.map(|band| (band.low_hz, band.high_hz)).collect()
    });
    ask(&BalanceInput {
        tracks: &tracks,
        beside: heard.passage.map(|passage| Beside {
            scene: &passage.scene,
            reference: passage.reference.as_ref().filter(|_| tracks.len() > 1),
            prints: heard.prints,
            elements: &elements,
            low_hits: bars.map_or(&[][..], |bars| &bars.low_hits),
            low_waves: heard.low_waves,
            elsewhere_hz: &elsewhere_hz,
        }),
        kick_peak_dbfs: assayed.mix.kick_peak_dbfs.filter(|_| !kick.is_empty()),
        kept_trim_db: kept_trim_db(session),
        targets: session.targets,
        stages: options.stages,
        all: options.all,
        exact: options.exact,
        usual: !options.no_usual,
    })
}
