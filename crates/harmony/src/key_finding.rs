//! The key of a piece.

use serde::{Deserialize, Serialize};

use crate::harmony_frames::HarmonyFrames;
use crate::key::{Key, Mode};
use crate::key_features::PitchClasses;
use crate::key_weights::MUSIC;

/// Keys that are listed.
const LISTED: usize = 5;
/// Weight of all tones a second below which there is nothing tonal.
const LEAST_CONTENT: f64 = 0.2;

/// The key of a piece, as far as it can be told.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct KeyFinding {
    /// The likeliest key; `None` where nothing tonal sounds.
    pub key: Option<Key>,
    /// Offset from A4 = 440 Hz in cents, -50 to 50.
    pub tuning_cents: Option<f64>,
    /// How likely the key is right, 0 to 1; 0.9 and more is sure.
    pub sure: f64,
    /// The likeliest keys, best first.
    pub candidates: Vec<KeyCandidate>,
}

/// A key with its share of the belief.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeyCandidate {
    /// The key.
    pub key: Key,
    /// Likelihood, 0 to 1; all 24 keys sum to 1.
    pub score: f64,
}

/// Finds the key of several tonal tracks that play together, or of one whole mix.
pub fn find_key(tracks: &[&HarmonyFrames]) -> KeyFinding {
    let Some(classes) = PitchClasses::of(tracks).filter(|c| c.content > LEAST_CONTENT) else {
        return KeyFinding::default();
    };
    let mut candidates: Vec<KeyCandidate> = Key::all()
        .map(|key| KeyCandidate {
            key,
            score: score(&classes, key),
        })
        .collect();
    let best = candidates.iter().map(|c| c.score).fold(f64::MIN, f64::max);
    candidates
        .iter_mut()
        .for_each(|c| c.score = (12.0 * (c.score - best)).exp());
    let sum: f64 = candidates.iter().map(|c| c.score).sum();
    candidates.iter_mut().for_each(|c| c.score /= sum);
    candidates.sort_by(|a, b| b.score.total_cmp(&a.score));
    candidates.truncate(LISTED);
    KeyFinding {
        key: candidates.first().map(|c| c.key),
        tuning_cents: Some(classes.tuning_cents),
        sure: candidates.first().map_or(0.0, |c| c.score),
        candidates,
    }
}

fn score(classes: &PitchClasses, key: Key) -> f64 {
    let template = &MUSIC[usize::from(key.mode == Mode::Minor)];
    let tonic = usize::from(key.tonic);
    correlation(&classes.music, template, tonic)
        + 0.5 * classes.bass[tonic]
        + 0.2 * classes.first[tonic]
}

/// Pearson's correlation of pitch classes with a template on a tonic.
fn correlation(classes: &[f64; 12], template: &[f64; 12], tonic: usize) -> f64 {
    let mean_class = classes.iter().sum::<f64>() / 12.0;
    let mean_template = template.iter().sum::<f64>() / 12.0;
    let (mut both, mut a, mut b) = (0.0, 0.0, 0.0);
    for step in 0..12 {
        let x = classes[(tonic + step) % 12] - mean_class;
        let y = template[step] - mean_template;
        both += x * y;
        a += x * x;
        b += y * y;
    }
    both / (a * b).sqrt().max(1e-12)
}
