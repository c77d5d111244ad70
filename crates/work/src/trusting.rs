//! Whether the tracks can be trusted, and what follows for the session.

use cupel_audio::HealthCode;
use cupel_session::Track;
use cupel_store::hash_of_parts;
use cupel_trust::{TRUST_VERSION, TrackInput, Trust, TrustInput, judge};

use crate::sources::FileSource;
use crate::{Context, Surveyed, WorkError};

/// Beginning of the reason written for a track that is left out for what the
/// judgement found. A track with such a reason is looked at again every time.
const FOUND: &str = "found: ";

const KIND: &str = "trust";

/// Whether a track's file is read at all: those left out by hand are not.
pub(crate) fn looked_at(track: &Track) -> bool {
    track.include || left_out_by_judgement(track)
}

fn left_out_by_judgement(track: &Track) -> bool {
    !track.include
        && track
            .why_left_out
            .as_deref()
            .is_some_and(|why| why.starts_with(FOUND))
}

/// Judges the tracks, or finds the judgement in the store, and applies it to the
/// session: sums and copies are left out, found starts are written. A track that
/// someone put back (`include = true` beside a reason) stays in.
///
/// # Errors
/// [`WorkError`] where a file cannot be read.
pub(crate) fn judge_tracks(
    surveyed: &mut Surveyed,
    context: &Context<'_>,
) -> Result<Trust, WorkError> {
    let trust = judged(surveyed, context)?;
    apply(surveyed, &trust);
    Ok(trust)
}

fn judged(surveyed: &Surveyed, context: &Context<'_>) -> Result<Trust, WorkError> {
    let rate = surveyed.sample_rate_hz;
    let looked: Vec<_> = surveyed
        .tracks
        .iter()
        .filter(|state| looked_at(&state.track))
        .filter_map(|state| state.file.as_ref().map(|file| (&state.track, file)))
        .collect();
    let key = key(surveyed, &looked);
    if let Some(trust) = context.store.get(KIND, TRUST_VERSION, &key) {
        return Ok(trust);
    }
    let mut sources = Vec::new();
    for (track, file) in &looked {
        let start = (track.start_s * f64::from(rate)).round() as i64;
        sources.push(FileSource::new(
            &file.path,
            &track.file,
            rate,
            start,
            file.summary().seconds,
        )?);
    }
    let rough = match &surveyed.rough {
        Some(file) => Some(FileSource::new(
            &file.path,
            &file.file,
            rate,
            0,
            file.summary().seconds,
        )?),
        None => None,
    };
    let curves: Vec<Vec<f32>> = looked
        .iter()
        .map(|(track, file)| momentary(track, &file.measured.curve))
        .collect();
    let tracks: Vec<TrackInput<'_>> = looked
        .iter()
        .zip(&sources)
        .zip(&curves)
        .map(|(((track, file), source), curve)| TrackInput {
            id: &track.id,
            file: &track.file,
            source,
            mono: file.measured.info.channels == 1,
            start_known: track.start_s != 0.0 || file.measured.info.time_reference.is_some(),
            max_momentary_lufs: file.summary().max_momentary_lufs,
            momentary_lufs: curve,
            sample_peak_dbfs: file.summary().sample_peak_dbfs,
            ceiling_dbfs: file
                .measured
                .health
                .iter()
                .find(|note| matches!(note.code, HealthCode::FlatTops | HealthCode::ClippedRuns))
                .and_then(|note| note.value),
        })
        .collect();
    let input = TrustInput {
        sample_rate_hz: rate,
        tracks: &tracks,
        rough: rough
            .as_ref()
            .map(|source| source as &dyn cupel_trust::Source),
    };
    let trust = judge(&input, &|part| {
        (context.progress)(part, "adding up the tracks")
    })?;
    let _ = context.store.put(KIND, TRUST_VERSION, &key, &trust);
    Ok(trust)
}

fn key(surveyed: &Surveyed, looked: &[(&Track, &crate::FileState)]) -> String {
    let mut parts = vec![surveyed.sample_rate_hz.to_string()];
    for (track, file) in looked {
        parts.extend([
            track.id.clone(),
            track.file.clone(),
            file.measured.content.clone(),
        ]);
        parts.push(track.start_s.to_string());
    }
    parts.push("rough".into());
    parts.extend(
        surveyed
            .rough
            .iter()
            .map(|file| file.measured.content.clone()),
    );
    hash_of_parts(parts.iter().map(String::as_str))
}

/// The loudness curve from the start of the session.
fn momentary(track: &Track, curve: &cupel_measure::LoudnessCurve) -> Vec<f32> {
    let hops = (track.start_s / curve.hop_s).round() as i64;
    let before = hops.max(0) as usize;
    let cut = (-hops).max(0) as usize;
    let mut values = vec![f32::NEG_INFINITY; before];
    values.extend(curve.momentary_lufs.iter().skip(cut));
    values
}

fn apply(surveyed: &mut Surveyed, trust: &Trust) {
    for state in &mut surveyed.tracks {
        let track = &mut state.track;
        let left_out = trust.tracks_left_out.iter().find(|out| out.id == track.id);
        match left_out {
            // Put back by hand.
            Some(_) if track.include && track.why_left_out.is_some() => {}
            Some(out) => {
                track.include = false;
                track.why_left_out = Some(format!("{FOUND}{}", out.text));
            }
            None if left_out_by_judgement(track) => {
                track.include = true;
                track.why_left_out = None;
            }
            None => {}
        }
        if let Some(start) = trust.starts.iter().find(|start| start.id == track.id) {
            track.start_s = start.start_s;
        }
    }
    for (track, state) in surveyed.session.tracks.iter_mut().zip(&surveyed.tracks) {
        track.include = state.track.include;
        track.why_left_out = state.track.why_left_out.clone();
        track.start_s = state.track.start_s;
    }
}
