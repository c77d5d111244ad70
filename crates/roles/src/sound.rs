//! What a track plays, by its sound alone.

use crate::network::{Kind, probabilities};
use crate::steady_lows::are_steady;
use crate::timbre_meter::TimbreFrames;
use cupel_measure::{BandFrames, Summary};
use cupel_units::{Group, Role};
use serde::{Deserialize, Serialize};

/// Up to so many hits tell less.
const FEW_HITS: u32 = 2;
/// Files of few hits are single sounds up to this length; tracks are longer.
const SINGLE_S: f64 = 10.0;

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
    /// Whether its lows sound on through the gaps of the rest, and so are no part of
    /// what it plays.
    pub steady_lows: bool,
}

/// Reads the sound of one track; silence gives every role the same probability,
/// and so does a file without [`SoundInput::timbre`].
pub fn sound_of(input: &SoundInput<'_>) -> SoundFinding {
    let even = 1.0 / Role::ALL.len() as f64;
    let found = input
        .timbre
        .and_then(|timbre| probabilities(timbre.features(), kind_of(timbre)))
        .unwrap_or_else(|| vec![even; Role::ALL.len()]);
    SoundFinding {
        steady_lows: are_steady(input.bands),
        ..SoundFinding::from_probabilities(Role::ALL.iter().copied().zip(found).collect())
    }
}

fn kind_of(timbre: &TimbreFrames) -> Kind {
    match (timbre.hits <= FEW_HITS, timbre.seconds <= SINGLE_S) {
        (true, true) => Kind::Single,
        (true, false) => Kind::FewHits,
        (false, _) => Kind::Track,
    }
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
        Self {
            ranked,
            group,
            steady_lows: false,
        }
    }

    /// Probability of one role.
    pub fn probability(&self, role: Role) -> f64 {
        self.ranked
            .iter()
            .find(|(other, _)| *other == role)
            .map_or(0.0, |&(_, probability)| probability)
    }
}

#[cfg(test)]
pub(crate) mod figures_tests {
    use super::*;
    use crate::TimbreMeter;
    use std::f64::consts::TAU;

    const RATE: f64 = 48_000.0;

    /// Sine from 160 down to 50 Hz, dying away, twice a second.
    pub(crate) fn kicks(seconds: f64) -> Vec<f64> {
        let mut phase = 0.0;
        (0..(seconds * RATE) as usize)
            .map(|n| {
                let t = (n % 24_000) as f64 / RATE;
                phase = if n % 24_000 == 0 { 0.2 } else { phase };
                phase += TAU * (50.0 + 110.0 * (-t / 0.03).exp()) / RATE;
                0.8 * phase.sin() * (-t / 0.12).exp()
            })
            .collect()
    }

    /// Bursts of the upper half of white noise, 40 ms long.
    pub(crate) fn hits_of_noise(seconds: f64, every_s: f64) -> Vec<f64> {
        let mut seed = 1u64;
        let mut before = 0.0;
        (0..(seconds * RATE) as usize)
            .map(|n| {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                let noise = (seed >> 33) as f64 / f64::from(1u32 << 31) - 0.5;
                let step = noise - before;
                before = noise;
                let t = (n as f64 / RATE) % every_s;
                0.4 * step * (-t / 0.02).exp()
            })
            .collect()
    }

    fn group(samples: &[f64]) -> (Group, f64) {
        let mut meter = TimbreMeter::new(RATE as u32, 1);
        meter.push(&[samples]);
        let heard = meter.finish();
        let found = probabilities(heard.features(), kind_of(&heard)).unwrap();
        SoundFinding::from_probabilities(Role::ALL.iter().copied().zip(found).collect()).group
    }

    #[test]
    fn a_single_hit_is_a_drum() {
        assert_eq!(group(&kicks(0.45)).0, Group::Drums);
        assert_eq!(group(&hits_of_noise(0.3, 1.0)).0, Group::Drums);
    }

    #[test]
    fn plain_sounds_are_put_into_their_group() {
        assert_eq!(group(&kicks(8.0)).0, Group::Drums);
        assert_eq!(group(&hits_of_noise(8.0, 0.125)).0, Group::Drums);
        // a minor triad of saws that swells every two seconds
        let pad: Vec<f64> = (0..(8.0 * RATE) as usize)
            .map(|n| {
                let t = n as f64 / RATE;
                let saw = |hz: f64| {
                    (1..20)
                        .map(|k| (TAU * hz * f64::from(k) * t).sin() / f64::from(k * k))
                        .sum::<f64>()
                };
                0.1 * (saw(220.0) + saw(261.63) + saw(329.63)) * (TAU * t / 4.0).sin().abs()
            })
            .collect();
        assert_eq!(group(&pad).0, Group::Music);
        let sub: Vec<f64> = (0..(8.0 * RATE) as usize)
            .map(|n| {
                let t = n as f64 / RATE;
                let hz = [43.65, 49.0, 38.89, 43.65][(t as usize / 2) % 4];
                0.5 * (TAU * hz * t).sin()
                    * ((t % 1.0) * 40.0).min(1.0)
                    * ((1.0 - t % 1.0) * 40.0).min(1.0)
            })
            .collect();
        assert_eq!(group(&sub).0, Group::LowEnd);
    }
}
