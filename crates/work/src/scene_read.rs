//! The tracks of a passage heard together over its bars.

use cupel_barmap::{CrossMap, CrossMeter, LowGuide, Row};
use cupel_compare::Layout;
use cupel_render::{Block, Plan, hear_passage};
use cupel_rhythm::BarLines;
use cupel_store::hash_of_parts;

use crate::bar_read::{hear_file, heard_s};
use crate::{Context, FileState, WorkError};

/// Changes whenever what is read of the same bars may change.
const SCENE_VERSION: u32 = 2;
const SCENE: &str = "session scene";
const FILE: &str = "reference scene";

/// Reads what the tracks of a plan are together, by sixteenth and row, with the
/// low places around the notes and kicks of `guide`. `None` where there is no
/// whole bar.
///
/// # Errors
/// [`WorkError`] where a track cannot be read.
pub(crate) fn session_scene(
    plan: &Plan,
    plan_key: &[String],
    lines: &BarLines,
    guide: &LowGuide,
    context: &Context<'_>,
) -> Result<Option<CrossMap>, WorkError> {
    let Some((start_s, end_s)) = heard_s(lines, plan.sample_rate_hz) else {
        return Ok(None);
    };
    let asked = format!("{lines:?} {guide:?}");
    let key = hash_of_parts(plan_key.iter().map(String::as_str).chain([asked.as_str()]));
    if let Some(read) = context.store.get(SCENE, SCENE_VERSION, &key) {
        return Ok(Some(read));
    }
    (context.progress)(0.0, "hearing the tracks together");
    let channels = vec![2; plan.tracks.len()];
    let rate_hz = f64::from(plan.sample_rate_hz);
    let weights = |rows: &[Row]| Layout::of(rows, lines.slots()).row_weights();
    let mut meter = CrossMeter::new(rate_hz, &channels, lines, start_s)
        .with_guide(guide, lines)
        .with_bars(weights);
    let mut listen = |block: &Block| {
        let sides: Vec<[&[f64]; 2]> = block
            .tracks
            .iter()
            .map(|bus| [bus.left.as_slice(), bus.right.as_slice()])
            .collect();
        let tracks: Vec<&[&[f64]]> = sides.iter().map(|sides| &sides[..]).collect();
        meter.push(&tracks);
    };
    hear_passage(plan, start_s, end_s, &mut listen)?;
    let read = meter.finish();
    let _ = context.store.put(SCENE, SCENE_VERSION, &key, &read);
    Ok(Some(read))
}

/// Reads one file in the same way, as a scene of one track; what lies at a frequency
/// times `pitch` in the file is read at that frequency.
///
/// # Errors
/// [`WorkError`] where the file cannot be read.
pub(crate) fn file_scene(
    file: &FileState,
    rate_hz: u32,
    lines: &BarLines,
    guide: &LowGuide,
    pitch: f64,
    context: &Context<'_>,
) -> Result<Option<CrossMap>, WorkError> {
    let Some(span_s) = heard_s(lines, rate_hz) else {
        return Ok(None);
    };
    let asked = format!("{rate_hz} {lines:?} {guide:?} {pitch}");
    let key = hash_of_parts([file.measured.content.as_str(), asked.as_str()]);
    if let Some(read) = context.store.get(FILE, SCENE_VERSION, &key) {
        return Ok(Some(read));
    }
    // At a rate lower by `pitch` all is lower by as much, and later.
    let rate = f64::from(rate_hz) / pitch;
    let slower = BarLines {
        bar_starts_s: lines.bar_starts_s.iter().map(|&t| t * pitch).collect(),
        ..lines.clone()
    };
    let mut meter =
        CrossMeter::new(rate, &[2], &slower, span_s.0 * pitch).with_guide(guide, &slower);
    hear_file(file, rate_hz, span_s, &mut |left, right| {
        meter.push(&[&[left, right]]);
    })?;
    let read = meter.finish();
    let _ = context.store.put(FILE, SCENE_VERSION, &key, &read);
    Ok(Some(read))
}
