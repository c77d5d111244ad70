//! Hits of low sounds as they are kept.

use serde::{Deserialize, Serialize};

/// Low end and click of the hits of a file: input of
/// [`kick_sound`](crate::kick_sound). At most 0.2 MB.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct KickFrames {
    /// Rate of the waves.
    pub(crate) rate_hz: f64,
    /// Time from one value of the clicks to the next.
    pub(crate) click_hop_s: f64,
    /// In order of time, thinned out where there are very many.
    pub(crate) hits: Vec<LowHit>,
    /// All hits, also those not kept.
    pub(crate) heard: u32,
}

impl KickFrames {
    /// Hits of low sounds that were heard, kicks or not.
    pub fn hits(&self) -> usize {
        self.heard as usize
    }
}

/// One hit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct LowHit {
    /// Where it starts, to a few milliseconds.
    pub(crate) time_s: f64,
    /// Greatest value of the wave, 1.0 = full scale.
    pub(crate) greatest: f32,
    /// The wave from [`BEFORE_S`] before the start, 128 for zero, 1 to 255.
    pub(crate) wave: Vec<u8>,
    /// Hops until the next hit starts, 0 if it starts after the wave.
    pub(crate) next: u16,
    /// Power of the highs over the same time, codes as in `low_frames`.
    pub(crate) clicks: Vec<u8>,
}

/// Part of a wave before the start of its hit.
pub(crate) const BEFORE_S: f64 = 0.03;
/// Part of a wave from the start on.
pub(crate) const AFTER_S: f64 = 0.45;
/// Frames of the wave in a hop.
pub(crate) const HOP: usize = 8;
/// Hits kept at most.
pub(crate) const MOST_HITS: usize = 96;

impl LowHit {
    pub(crate) fn new(time_s: f64, wave: &[f32], next: u16, clicks: Vec<u8>) -> Self {
        let greatest = wave.iter().fold(1e-9, |a: f32, x| a.max(x.abs()));
        let code = |x: &f32| (128.0 + 127.0 * x / greatest).round() as u8;
        Self {
            time_s,
            greatest,
            wave: wave.iter().map(code).collect(),
            next,
            clicks,
        }
    }

    /// Frames of the wave before the next hit.
    pub(crate) fn own(&self, rate_hz: f64) -> usize {
        let before = (BEFORE_S * rate_hz) as usize;
        match usize::from(self.next) {
            0 => self.wave.len(),
            next => (before + (next * HOP).saturating_sub(before / 2)).min(self.wave.len()),
        }
    }

    /// The wave, scaled to a greatest value of 1.
    pub(crate) fn unit_wave(&self) -> Vec<f32> {
        let value = |&code: &u8| (f32::from(code) - 128.0) / 127.0;
        self.wave.iter().map(value).collect()
    }
}
