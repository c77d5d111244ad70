//! What the music of a file is read from: onsets, notes, timbre, hits; and what else
//! is odd about its sound.

use cupel_harmony::{HarmonyFrames, HarmonyMeter, KickFrames, KickMeter};
use cupel_rhythm::{OnsetCurve, OnsetMeter};
use cupel_roles::{TimbreFrames, TimbreMeter};
use cupel_traits::{TraitMeter, Traits};
use serde::{Deserialize, Serialize};

/// Changes whenever what is heard of the same samples may change; what is kept
/// under another version is heard again.
pub const HEARD_VERSION: u32 = 5;

/// What was heard of a file or a mix: compact, so that it can be kept, and
/// enough to read its musical time, its key, its bass line, its kick and what it
/// plays from.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Heard {
    /// Onsets over time.
    pub onsets: OnsetCurve,
    /// Pitch over time.
    pub harmony: HarmonyFrames,
    /// Low end and clicks of hits.
    pub kick: KickFrames,
    /// Hits and tones.
    pub timbre: TimbreFrames,
    /// Hum, clicks, decay, crest of hits.
    pub traits: Traits,
}

/// Listens along while samples are read; see [`Heard`].
pub struct Listener {
    onsets: OnsetMeter,
    harmony: HarmonyMeter,
    kick: KickMeter,
    timbre: TimbreMeter,
    traits: TraitMeter,
}

impl Listener {
    /// A listener at zero. Of more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        Self {
            onsets: OnsetMeter::new(sample_rate_hz, channels),
            harmony: HarmonyMeter::new(sample_rate_hz, channels),
            kick: KickMeter::new(sample_rate_hz, channels),
            timbre: TimbreMeter::new(sample_rate_hz, channels),
            traits: TraitMeter::new(sample_rate_hz, channels),
        }
    }

    /// Takes the next frames: one slice a channel, 1.0 = full scale, finite.
    pub fn push(&mut self, channels: &[&[f64]]) {
        self.onsets.push(channels);
        self.harmony.push(channels);
        self.kick.push(channels);
        self.timbre.push(channels);
        self.traits.push(channels);
    }

    /// Everything that was heard.
    pub fn finish(self) -> Heard {
        Heard {
            onsets: self.onsets.finish(),
            harmony: self.harmony.finish(),
            kick: self.kick.finish(),
            timbre: self.timbre.finish(),
            traits: self.traits.finish(),
        }
    }
}
