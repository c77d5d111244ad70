//! Rows for the scripts that fit weights; no part of the ordinary interface.

use crate::harmony_frames::HarmonyFrames;
use crate::key_features::PitchClasses;
use crate::peaks::PACKED;

/// Pitch classes of the music, of the bass and of the first bass, and the tuning
/// in cents; empty without tones.
pub fn key_rows(tracks: &[&HarmonyFrames]) -> Vec<Vec<f64>> {
    let Some(classes) = PitchClasses::of(tracks) else {
        return Vec::new();
    };
    vec![
        classes.music.to_vec(),
        classes.bass.to_vec(),
        classes.first.to_vec(),
        vec![classes.tuning_cents, classes.agreement, classes.content],
    ]
}

/// Time from frame to frame, middle of the first, values a frame, and the codes,
/// of the long frames, the short ones and the three envelopes.
pub fn codes(frames: &HarmonyFrames) -> Vec<(f64, f64, usize, &[u8])> {
    let mut all: Vec<(f64, f64, usize, &[u8])> = [&frames.long, &frames.short]
        .map(|peaks| {
            (
                peaks.hop_s,
                peaks.first_s,
                PACKED * peaks.each,
                &peaks.codes[..],
            )
        })
        .into();
    let low = &frames.low;
    for codes in [&low.low, &low.body, &low.click] {
        all.push((low.hop_s, low.first_s, 1, codes));
    }
    all
}
