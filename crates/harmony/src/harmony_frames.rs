//! Pitch over time as it is kept: peaks of spectra, a byte a value.

use serde::{Deserialize, Serialize};

use crate::low_frames::LowFrames;
use crate::peaks::{PACKED, Peak};

/// Peaks kept of one long frame.
pub(crate) const LONG_PEAKS: usize = 24;
/// Peaks kept of one short frame.
pub(crate) const SHORT_PEAKS: usize = 8;

/// Pitch over time of a whole file: input of [`find_key`](crate::find_key),
/// [`bass_notes`](crate::bass_notes) and the like. About 0.7 MB for five minutes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HarmonyFrames {
    /// Length of the file.
    pub(crate) seconds: f64,
    /// Peaks from 27 Hz to 2.3 kHz in windows of a third of a second.
    pub(crate) long: PeakFrames,
    /// Peaks from 27 to 500 Hz in windows of an eighth of a second.
    pub(crate) short: PeakFrames,
    /// Power of the lows every few milliseconds.
    pub(crate) low: LowFrames,
}

impl HarmonyFrames {
    /// Length of the file in seconds.
    pub fn seconds(&self) -> f64 {
        self.seconds
    }
}

/// Peaks frame by frame.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct PeakFrames {
    /// Time from the middle of a frame to the middle of the next.
    pub(crate) hop_s: f64,
    /// Middle of the first frame.
    pub(crate) first_s: f64,
    /// Peaks a frame.
    pub(crate) each: usize,
    pub(crate) codes: Vec<u8>,
}

impl PeakFrames {
    pub(crate) fn frames(&self) -> usize {
        match self.each {
            0 => 0,
            each => self.codes.len() / (PACKED * each),
        }
    }

    /// Peaks of a frame, the highest first; none outside.
    pub(crate) fn at(&self, frame: usize) -> impl Iterator<Item = Peak> + '_ {
        let size = PACKED * self.each;
        let codes = self.codes.get(frame * size..(frame + 1) * size);
        codes
            .unwrap_or_default()
            .chunks(PACKED)
            .map_while(Peak::unpack)
    }

    /// Middle of a frame.
    pub(crate) fn time_s(&self, frame: usize) -> f64 {
        self.first_s + self.hop_s * frame as f64
    }
}
