//! Figures of a mix that is heard, not written; kept in the store.

use cupel_measure::{BandFrames, HighestPeak, LoudnessCurve, MEASURE_VERSION, Summary};
use cupel_process::Bus;
use cupel_render::{Heard, Plan, hear_mix, measure_mix, measure_passage};
use cupel_store::hash_of_parts;
use cupel_survey::Listener;
use serde::{Deserialize, Serialize};

use crate::{Context, Surveyed, WorkError};

const MIX: &str = "mix";
/// Changes whenever the figures of a mix may change beside the measures.
const MIX_VERSION: u32 = 100 * MEASURE_VERSION + 1;
const PASSAGE: &str = "passage";

/// What a mix measures.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct MixFigures {
    /// Figures of the whole.
    pub summary: Summary,
    /// Loudness over time.
    pub curve: LoudnessCurve,
    /// Sample peak of the kick element in this mix, in dBFS.
    pub kick_peak_dbfs: Option<f64>,
    /// Its highest peaks by time, with the share of each track in plan order.
    pub highest_peaks: Vec<HighestPeak>,
}

/// Measures the mix of a plan, with the peak of the kick element (ids).
///
/// # Errors
/// [`WorkError`] where a track cannot be read.
pub fn mix_figures(
    surveyed: &Surveyed,
    plan: &Plan,
    kick: &[String],
    context: &Context<'_>,
) -> Result<MixFigures, WorkError> {
    let key = mix_key(surveyed, plan, kick);
    if let Some(figures) = context.store.get(MIX, MIX_VERSION, &key) {
        return Ok(figures);
    }
    let sums = [indices(plan, kick)];
    let heard = measure_mix(plan, &sums, &|part| {
        (context.progress)(part, "measuring the mix")
    })?;
    let figures = MixFigures::of(&heard);
    let _ = context.store.put(MIX, MIX_VERSION, &key, &figures);
    Ok(figures)
}

/// Measures the mix of a plan as [`mix_figures`], while `listener` hears it.
pub(crate) fn heard_mix(
    surveyed: &Surveyed,
    plan: &Plan,
    kick: &[String],
    listener: &mut Listener,
    context: &Context<'_>,
) -> Result<(MixFigures, BandFrames), WorkError> {
    let sums = [indices(plan, kick)];
    let mut listen = |mix: &Bus| listener.push(&[&mix.left, &mix.right]);
    let heard = hear_mix(plan, &sums, &mut listen, &|part| {
        (context.progress)(part, "listening to the mix")
    })?;
    let figures = MixFigures::of(&heard);
    let key = mix_key(surveyed, plan, kick);
    let _ = context.store.put(MIX, MIX_VERSION, &key, &figures);
    Ok((figures, heard.mix.bands))
}

impl MixFigures {
    fn of(heard: &Heard) -> Self {
        Self {
            summary: heard.mix.summary.clone(),
            curve: heard.mix.curve.clone(),
            kick_peak_dbfs: heard.peaks_dbfs.first().copied().flatten(),
            highest_peaks: heard.highest_peaks.clone(),
        }
    }
}

fn mix_key(surveyed: &Surveyed, plan: &Plan, kick: &[String]) -> String {
    let mut parts = plan_key(surveyed, plan);
    parts.push("kick".into());
    parts.extend(kick.iter().cloned());
    hash_of_parts(parts.iter().map(String::as_str))
}

/// Measures a passage of the mix of a plan.
///
/// # Errors
/// [`WorkError`] where a track cannot be read.
pub(crate) fn passage_figures(
    surveyed: &Surveyed,
    plan: &Plan,
    start_s: f64,
    end_s: f64,
    context: &Context<'_>,
) -> Result<Summary, WorkError> {
    let mut parts = plan_key(surveyed, plan);
    parts.push(format!("{start_s} {end_s}"));
    let key = hash_of_parts(parts.iter().map(String::as_str));
    if let Some(summary) = context.store.get(PASSAGE, MEASURE_VERSION, &key) {
        return Ok(summary);
    }
    let summary = measure_passage(plan, start_s, end_s)?;
    let _ = context.store.put(PASSAGE, MEASURE_VERSION, &key, &summary);
    Ok(summary)
}

/// Indices in the plan of the tracks with these ids.
pub(crate) fn indices(plan: &Plan, ids: &[String]) -> Vec<usize> {
    (0..plan.tracks.len())
        .filter(|&t| ids.contains(&plan.tracks[t].id))
        .collect()
}

/// All that the samples of a plan's mix depend on.
pub(crate) fn plan_key(surveyed: &Surveyed, plan: &Plan) -> Vec<String> {
    let mut parts = vec![
        plan.sample_rate_hz.to_string(),
        format!("{:?}", plan.groups),
    ];
    for track in &plan.tracks {
        let file = surveyed
            .tracks
            .iter()
            .find(|state| state.track.id == track.id);
        let content = file
            .and_then(|state| state.file.as_ref())
            .map(|f| f.measured.content.clone());
        parts.push(content.unwrap_or_default());
        parts.push(format!(
            "{} {:?} {:?}",
            track.start_frames, track.strip, track.group
        ));
    }
    parts
}
