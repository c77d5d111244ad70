//! The music of a session: of its mix, with what its tracks tell.

use cupel_measure::LoudnessCurve;
use cupel_render::Plan;
use cupel_survey::{Heard, Listener, heard_of};
use cupel_units::{Group, Role};

use crate::figures::{heard_mix, mix_figures, plan_key};
use crate::musical::{Hearing, keep, kept, music_key};
use crate::{Context, FileState, MixFigures, Musical, Surveyed, TrackState, WorkError};

/// Measures the mix of a session and reads its music, in one pass where neither
/// is kept.
pub(crate) fn figures_and_music(
    surveyed: &Surveyed,
    plan: &Plan,
    kick: &[String],
    context: &Context<'_>,
) -> Result<(MixFigures, Musical), WorkError> {
    let settings = &surveyed.session.music;
    let key = key(surveyed, plan, kick);
    if let Some(music) = kept(context.store, &key) {
        return Ok((mix_figures(surveyed, plan, kick, context)?, music));
    }
    let mut listener = Listener::new(plan.sample_rate_hz, 2);
    let (figures, bands) = heard_mix(surveyed, plan, kick, &mut listener, context)?;
    let curves: Vec<LoudnessCurve> = surveyed
        .included()
        .map(|(state, file)| file.measured.curve.starting_at(state.track.start_s))
        .collect();
    let layers: Vec<&LoudnessCurve> = curves.iter().collect();
    let hear = |states: Vec<(&TrackState, &FileState)>| -> Result<Vec<Heard>, WorkError> {
        let heard = states
            .into_iter()
            .map(|(_, file)| heard_of(&file.path, &file.measured, context.store));
        Ok(heard.collect::<Result<_, _>>()?)
    };
    let tonal = hear(surveyed.included().filter(is_tonal).collect())?;
    let tonal: Vec<_> = tonal.iter().map(|heard| &heard.harmony).collect();
    let bass_track = bass_track(surveyed);
    let bass = hear(bass_track.into_iter().collect())?.pop();
    let kick = hear(kick_track(surveyed, kick).into_iter().collect())?.pop();
    let hearing = Hearing {
        mix: &listener.finish(),
        bands: &bands,
        curve: &figures.curve,
        seconds: figures.summary.seconds,
        layers: &layers,
        tonal: &tonal,
        bass: bass.as_ref().map(|heard| &heard.harmony),
        kick: kick.as_ref(),
    };
    let mut music = Musical::of(&hearing, settings);
    let bass_start_s = bass_track.map_or(0.0, |(state, _)| state.track.start_s);
    for note in &mut music.bass {
        note.start_s += bass_start_s;
        note.end_s += bass_start_s;
    }
    keep(context.store, &key, &music);
    Ok((figures, music))
}

fn key(surveyed: &Surveyed, plan: &Plan, kick: &[String]) -> String {
    let mut parts = plan_key(surveyed, plan);
    parts.push("kick".into());
    parts.extend(kick.iter().cloned());
    parts.extend(
        surveyed
            .included()
            .map(|(state, _)| format!("{:?}", state.track.role)),
    );
    music_key(parts.iter().map(String::as_str), &surveyed.session.music)
}

/// Whether a track is one that carries notes.
fn is_tonal((state, _): &(&TrackState, &FileState)) -> bool {
    state.track.role.is_some_and(|role| {
        role != Role::Mix && matches!(role.group(), Group::LowEnd | Group::Music | Group::Voice)
    })
}

/// The loudest bass; else the loudest sub.
fn bass_track(surveyed: &Surveyed) -> Option<(&TrackState, &FileState)> {
    loudest(surveyed, |state| state.track.role == Some(Role::Bass))
        .or_else(|| loudest(surveyed, |state| state.track.role == Some(Role::Sub)))
}

fn kick_track<'a>(
    surveyed: &'a Surveyed,
    kick: &[String],
) -> Option<(&'a TrackState, &'a FileState)> {
    loudest(surveyed, |state| kick.contains(&state.track.id))
}

fn loudest(
    surveyed: &Surveyed,
    wanted: impl Fn(&TrackState) -> bool,
) -> Option<(&TrackState, &FileState)> {
    surveyed
        .included()
        .filter(|(state, _)| wanted(state))
        .filter_map(|(state, file)| Some((file.summary().integrated_lufs?, (state, file))))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, both)| both)
}
