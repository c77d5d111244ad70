//! Rows for the scripts that fit weights; no part of the ordinary interface.

use crate::harmony_frames::HarmonyFrames;
use crate::key_features::{KeyFeatures, NAMES};
use crate::peaks::PACKED;

/// Blocks a key is read from by name, then tuning in cents and content; empty
/// without tones.
pub fn key_rows(tracks: &[&HarmonyFrames]) -> Vec<(&'static str, Vec<f64>)> {
    let Some(features) = KeyFeatures::of(tracks) else {
        return Vec::new();
    };
    let blocks = NAMES.iter().zip(&features.blocks);
    let mut rows: Vec<_> = blocks
        .map(|(name, block)| (*name, block.to_vec()))
        .collect();
    rows.push(("tuning", vec![features.tuning_cents, features.content]));
    rows
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
