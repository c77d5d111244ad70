//! Renders the session with its moves and measures again.

use std::fs;

use cupel_audio::SampleFormat;
use cupel_measure::Summary;
use cupel_render::{OutputFolder, Pair, Side, write_outputs, write_pair};
use cupel_session::{Move, SessionLock};
use cupel_units::Group;
use serde::Serialize;

use crate::balance::{in_order, planned, predict};
use crate::figures::indices;
use crate::{Assayed, Context, MixFigures, Place, Predicted, WorkError, assay};

/// What was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RenderOptions {
    /// Format of the pre-master and the comparison pair.
    pub format: SampleFormat,
}

/// A rendered session.
#[derive(Debug)]
pub struct Rendered {
    /// The session before the moves.
    pub assayed: Assayed,
    /// The moves that are on, in the order to do them, then those that are off.
    pub moves: Vec<Move>,
    /// The pre-master, measured while it was written.
    pub after: Predicted,
    /// The group stems.
    pub groups: Vec<(Group, Summary)>,
    /// The comparison pair, where there is a reference.
    pub pair: Option<Pair>,
    /// Number of the folder under `earlier/` that the render before moved to.
    pub moved_to: Option<u32>,
    /// Frames written.
    pub frames: u64,
    /// What could not be done, in words.
    pub notes: Vec<String>,
}

/// What `render.json` keeps beside the audio.
#[derive(Serialize)]
struct Kept<'a> {
    schema: &'static str,
    version: u32,
    moves: &'a [Move],
    premaster: &'a Summary,
    kick_peak_dbfs: Option<f64>,
    pair: &'a Option<Pair>,
}

/// Renders into `cupel/`; an earlier render moves to `cupel/earlier/N/`.
///
/// # Errors
/// [`WorkError`]; an earlier render then stays in its place.
pub fn render(
    place: &Place,
    options: RenderOptions,
    context: &Context<'_>,
) -> Result<Rendered, WorkError> {
    let assayed = assay(place, context)?;
    let plan = planned(&assayed);
    let kick = assayed.kick.as_ref().map_or(&[][..], |kick| &kick.tracks);
    // Two session files of one folder share their outputs.
    let _lock = SessionLock::take(place.folder.join("outputs"))?;
    let folder = OutputFolder::begin(&place.outputs())?;
    let sums = [indices(&plan, kick)];
    let written = write_outputs(&plan, folder.making(), options.format, &sums, &|part| {
        (context.progress)(part, "rendering");
    })?;
    let kick_peak_dbfs = written.peaks_dbfs.first().copied().flatten();
    let mix = MixFigures {
        summary: written.mix.summary,
        curve: written.mix.curve,
        kick_peak_dbfs,
        highest_peaks: written.highest_peaks,
    };
    let after = predict(&assayed, &plan, mix, context)?;
    let moves = in_order(&assayed.surveyed.session);
    let mut notes = plan.notes.clone();
    notes.extend(clipped_note(written.limited_samples));
    let pair = compare(&assayed, &folder, options, &mut notes)?;
    let kept = Kept {
        schema: "cupel/render-record",
        version: 1,
        moves: &moves,
        premaster: &after.mix.summary,
        kick_peak_dbfs,
        pair: &pair,
    };
    let path = folder.making().join("render.json");
    serde_json::to_vec_pretty(&kept)
        .map_err(std::io::Error::other)
        .and_then(|bytes| fs::write(&path, bytes))
        .map_err(|source| WorkError::Write { path, source })?;
    let moved_to = folder.finish()?;
    Ok(Rendered {
        assayed,
        moves,
        after,
        groups: written.groups,
        pair,
        moved_to,
        frames: written.frames,
        notes,
    })
}

/// Says it where integers could not hold the mix.
fn clipped_note(limited_samples: u64) -> Option<String> {
    (limited_samples > 0).then(|| {
        format!(
            "{limited_samples} samples of the pre-master are over full scale and were clipped: \
             render with --format f32, or let cupel balance keep the headroom"
        )
    })
}

/// Writes the comparison pair, where there is something to compare.
fn compare(
    assayed: &Assayed,
    folder: &OutputFolder,
    options: RenderOptions,
    notes: &mut Vec<String>,
) -> Result<Option<Pair>, WorkError> {
    let (Some(passages), Some(file)) = (&assayed.passages, &assayed.surveyed.reference) else {
        return Ok(None);
    };
    let Some(reference) = &passages.reference else {
        notes.push("no comparison pair: the reference's passage is silent".into());
        return Ok(None);
    };
    if passages.mix.integrated_lufs.is_none() {
        notes.push("no comparison pair: the passage of the mix is silent".into());
        return Ok(None);
    }
    let premaster = folder.making().join("premaster.wav");
    let mix = Side {
        path: &premaster,
        start_s: passages.stretch.start_s,
        end_s: passages.stretch.end_s,
    };
    let other = Side {
        path: &file.path,
        start_s: reference.stretch.start_s,
        end_s: reference.stretch.end_s,
    };
    let rate = assayed.surveyed.sample_rate_hz;
    let to = folder.making().join("compare");
    Ok(Some(write_pair(mix, other, rate, options.format, &to)?))
}
