//! A passage that is wanted on the grid it has: nothing is stretched.

use crate::plan::Passage;

/// Anchors this near to their places count as there, in frames.
const NEAR_FRAMES: f64 = 0.5;
/// How long what came before the passage is laid under its end, in seconds.
const SEAM_S: f64 = 0.01;

/// The passage as it is, with its end led over to its start, where no anchor moves;
/// the passage must not be transposed.
pub(crate) fn as_it_is(passage: &Passage, rate_hz: f64) -> Option<Vec<Vec<f64>>> {
    let stays = |&(from, to): &(f64, f64)| (from - passage.origin - to).abs() < NEAR_FRAMES;
    if !passage.anchors.iter().all(stays) {
        return None;
    }
    let origin = passage.origin.round() as usize;
    let frames = passage.output_frames();
    let seam = (SEAM_S * rate_hz).min(passage.before).min(frames as f64) as usize;
    let cut = |channel: &Vec<f64>| -> Vec<f64> {
        let mut out: Vec<f64> = channel.iter().skip(origin).take(frames).copied().collect();
        out.resize(frames, 0.0);
        let before = channel.iter().skip(origin - seam).take(seam);
        let end = out.iter_mut().skip(frames - seam);
        for (index, (out, before)) in end.zip(before).enumerate() {
            let part = (index + 1) as f64 / (seam + 1) as f64;
            *out += part * (before - *out);
        }
        out
    };
    Some(passage.channels.iter().map(cut).collect())
}
