//! Rows for the scripts that fit weights; no part of the ordinary interface.

use crate::harmony_frames::HarmonyFrames;
use crate::key_features::PitchClasses;

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
