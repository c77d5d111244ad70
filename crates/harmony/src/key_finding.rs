//! The key of a piece.

use serde::{Deserialize, Serialize};

use crate::harmony_frames::HarmonyFrames;
use crate::key::{Key, Mode};
use crate::key_features::KeyFeatures;
use crate::key_weights::{BIAS, STEEPNESS, SURE_FROM, WEIGHTS};

/// Weight of all tones a second from which a key can be sure.
const ENOUGH_CONTENT: f64 = 1.0;
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
    /// How sure the key is, 0 to 1; 0.9 and more is sure, and of all those together
    /// 95 in 100 are right on made pieces.
    pub sure: f64,
    /// The likeliest keys, best first.
    pub candidates: Vec<KeyCandidate>,
}

impl KeyFinding {
    /// How sure the notes of the key are, 0 to 1 as [`sure`](Self::sure): a key and its
    /// relative have the same. Never less than that of the key.
    pub fn sure_of_notes(&self) -> f64 {
        let (Some(key), Some(first)) = (self.key, self.candidates.first()) else {
            return self.sure;
        };
        let alike = self.candidates.iter();
        let alike = alike.filter(|other| other.key.signature() == key.signature());
        let belief: f64 = alike.map(|other| other.score).sum();
        // what little sounds counts as little here as for the key
        let content = self.sure / sureness(first.score).max(1e-9);
        (sureness(belief.min(1.0)) * content).clamp(self.sure, 1.0)
    }
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
///
/// A weighted sum of what is heard (`KeyFeatures`), the same weights on every
/// tonic; weights and belief were fitted together, see `fit/fit.py`.
pub fn find_key(tracks: &[&HarmonyFrames]) -> KeyFinding {
    let Some(features) = KeyFeatures::of(tracks).filter(|f| f.content > LEAST_CONTENT) else {
        return KeyFinding::default();
    };
    let mut candidates: Vec<KeyCandidate> = Key::all()
        .map(|key| KeyCandidate {
            key,
            score: score(&features, key),
        })
        .collect();
    let best = candidates.iter().map(|c| c.score).fold(f64::MIN, f64::max);
    candidates
        .iter_mut()
        .for_each(|c| c.score = (STEEPNESS * (c.score - best)).exp());
    let sum: f64 = candidates.iter().map(|c| c.score).sum();
    candidates.iter_mut().for_each(|c| c.score /= sum);
    candidates.sort_by(|a, b| b.score.total_cmp(&a.score));
    candidates.truncate(LISTED);
    let first = candidates.first();
    KeyFinding {
        key: first.map(|c| c.key),
        tuning_cents: Some(features.tuning_cents),
        sure: first.map_or(0.0, |c| sureness(c.score))
            * (features.content / ENOUGH_CONTENT).min(1.0),
        candidates,
    }
}

/// From the belief in the first key, 0 to 1: 0.9 at [`SURE_FROM`].
fn sureness(belief: f64) -> f64 {
    if belief < SURE_FROM {
        0.9 * belief / SURE_FROM
    } else {
        0.9 + 0.1 * (belief - SURE_FROM) / (1.0 - SURE_FROM)
    }
}

fn score(features: &KeyFeatures, key: Key) -> f64 {
    let mode = usize::from(key.mode == Mode::Minor);
    let blocks = features.blocks.iter().zip(&WEIGHTS[mode]);
    let sum: f64 = blocks
        .map(|(block, weights)| {
            let steps = weights.iter().enumerate();
            steps
                .map(|(step, weight)| weight * block[(usize::from(key.tonic) + step) % 12])
                .sum::<f64>()
        })
        .sum();
    sum + BIAS[mode]
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn sureness_rises_with_belief_and_is_sure_from_its_place_on() {
        let all: Vec<f64> = (0..=100).map(|n| sureness(0.01 * f64::from(n))).collect();
        assert!(all.windows(2).all(|pair| pair[0] < pair[1]));
        assert!(all[0] == 0.0 && (all[100] - 1.0).abs() < 1e-12);
        assert!(sureness(SURE_FROM) >= 0.9 && sureness(SURE_FROM - 0.001) < 0.9);
    }

    #[test]
    fn notes_are_sure_where_only_relatives_compete() {
        let finding = |words: [&str; 2]| {
            let scores = [0.5, 0.45];
            let candidates: Vec<KeyCandidate> = words
                .iter()
                .zip(scores)
                .map(|(word, score)| KeyCandidate {
                    key: word.parse().unwrap(),
                    score,
                })
                .collect();
            KeyFinding {
                key: Some(candidates[0].key),
                tuning_cents: None,
                sure: sureness(0.5),
                candidates,
            }
        };
        let relatives = finding(["F# major", "Eb minor"]);
        assert!(relatives.sure < 0.9 && relatives.sure_of_notes() >= 0.9);
        let others = finding(["F# major", "C# major"]);
        assert_eq!(others.sure_of_notes(), others.sure);
    }
}
