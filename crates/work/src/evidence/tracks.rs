//! The tracks one by one.

use cupel_findings::{FileFacts, LevelFacts, TrackFacts};
use cupel_measure::{LoudnessCurve, loudness_between};
use cupel_survey::heard_of;

use crate::{Assayed, Context, FileState, TrackState, WorkError};

/// A track sounds where its momentary loudness is less than this under its loudest
/// moment, LU, and over the absolute gate of BS.1770.
const SOUNDS_LU: f32 = 40.0;
const GATE_LUFS: f32 = -70.0;
/// Gaps shorter than this belong to what sounds, s.
const SHORT_GAP_S: f64 = 2.0;

/// The tracks in plan order.
pub(super) fn of(
    assayed: &Assayed,
    levels: &[Option<LevelFacts>],
    context: &Context<'_>,
) -> Result<Vec<TrackFacts>, WorkError> {
    let kick = assayed.kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
    let mut tracks = Vec::new();
    for (place, planned) in assayed.plan.tracks.iter().enumerate() {
        let mut states = assayed.surveyed.included();
        let Some((state, file)) = states.find(|(state, _)| state.track.id == planned.id) else {
            continue;
        };
        let in_passage = assayed.passages.as_ref();
        tracks.push(TrackFacts {
            is_kick: kick.contains(&planned.id),
            in_passage: in_passage.and_then(|p| p.tracks.get(place).cloned()),
            level: levels.get(place).copied().flatten(),
            ..of_track(assayed, state, file, context)?
        });
    }
    Ok(tracks)
}

fn of_track(
    assayed: &Assayed,
    state: &TrackState,
    file: &FileState,
    context: &Context<'_>,
) -> Result<TrackFacts, WorkError> {
    let curve = file.measured.curve.starting_at(state.track.start_s);
    let sections = assayed.music.form.sections.iter();
    Ok(TrackFacts {
        id: state.track.id.clone(),
        file: file_facts(file, context)?,
        role: state.track.role,
        group: state.track.group,
        role_sure: state.role_sure,
        is_kick: false,
        start_s: state.track.start_s,
        in_passage: None,
        section_lufs: sections
            .map(|section| loudness_between(&curve, section.start_s, section.end_s))
            .collect(),
        sounds_s: sounds_s(&curve),
        level: None,
    })
}

/// A file and what its samples tell.
pub(super) fn file_facts(file: &FileState, context: &Context<'_>) -> Result<FileFacts, WorkError> {
    let heard = heard_of(&file.path, &file.measured, context.store)?;
    let name = file.file.rsplit('/').next().unwrap_or(&file.file);
    let name = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    Ok(FileFacts {
        name: name.to_owned(),
        summary: file.measured.summary.clone(),
        health: file.measured.health.clone(),
        lossy: file.measured.info.lossy,
        traits: heard.traits,
    })
}

/// Stretches in which a track sounds.
fn sounds_s(curve: &LoudnessCurve) -> Vec<(f64, f64)> {
    let loudest = curve
        .momentary_lufs
        .iter()
        .copied()
        .fold(f32::NEG_INFINITY, f32::max);
    let limit = (loudest - SOUNDS_LU).max(GATE_LUFS);
    let mut spans: Vec<(f64, f64)> = Vec::new();
    for (index, &lufs) in curve.momentary_lufs.iter().enumerate() {
        if lufs <= limit {
            continue;
        }
        let end_s = (index + 1) as f64 * curve.hop_s;
        let start_s = end_s - curve.hop_s;
        match spans.last_mut() {
            Some(last) if start_s - last.1 < SHORT_GAP_S => last.1 = end_s,
            _ => spans.push((start_s, end_s)),
        }
    }
    spans
}
