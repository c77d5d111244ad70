//! How well a grid is borne out by the file: whether to speak of beats at all,
//! and how sure.

use crate::bar_choice::Choice;
use crate::beat_choice::score;
use crate::steadiness::Sounds;
use crate::weights::{DOWNBEAT_SURE, FOLLOWED, STEADY, TEMPO_SURE};

/// Number of features, the constant one included.
pub(crate) const PROOF_FEATURES: usize = 9;
/// Greatest odds that a choice among grids is given, as their logarithm.
const GREATEST: f64 = 7.0;

/// What bears out a grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Proof {
    /// Features without the odds, which are added for each question.
    features: [f64; PROOF_FEATURES],
    tempo: f64,
    downbeat: f64,
}

impl Proof {
    pub(crate) fn of(sounds: &Sounds, seconds: f64, choice: &Choice) -> Self {
        let gathered = sounds.gathered(choice.beats.period_s);
        let count = sounds.starts.len().max(1) as f64;
        Self {
            features: [
                1.0,
                0.0,
                (gathered + 0.01).ln(),
                count.ln(),
                sounds.rate.clamp(0.1, 20.0).ln(),
                sounds.upper.min(0.3),
                sounds.strength,
                seconds.max(1.0).ln(),
                sounds.held(choice.beats.period_s),
            ],
            tempo: choice.tempo,
            downbeat: choice.downbeat,
        }
    }

    /// The features beside the two chances.
    pub(crate) fn features(&self) -> [f64; PROOF_FEATURES] {
        self.features
    }

    /// Whether one tempo and one offset hold through the file.
    pub(crate) fn is_steady(&self) -> bool {
        score(&self.features, &STEADY) > 0.0
    }

    /// Whether beats that were followed are beats.
    pub(crate) fn is_followed(&self) -> bool {
        score(&self.features, &FOLLOWED) > 0.0
    }

    /// Chance that tempo and octave are right.
    pub(crate) fn sure_tempo(&self) -> f64 {
        self.chance(self.tempo, &TEMPO_SURE)
    }

    /// Chance that beats, metre and bar line are right.
    pub(crate) fn sure_downbeat(&self) -> f64 {
        self.chance(self.downbeat, &DOWNBEAT_SURE)
    }

    fn chance(&self, chance: f64, weights: &[f64; PROOF_FEATURES]) -> f64 {
        let odds = (chance / (1.0 - chance).max(1e-9)).max(1e-9).ln();
        let mut features = self.features;
        features[1] = odds.clamp(-GREATEST, GREATEST);
        1.0 / (1.0 + (-score(&features, weights)).exp())
    }
}
