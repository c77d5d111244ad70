//! Time and frames (one frame is one sample per channel).

use serde::{Deserialize, Serialize};

/// A time or a length of time in seconds.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Seconds(pub f64);

/// Length of `frames` at a sample rate.
pub fn frames_to_seconds(frames: u64, sample_rate_hz: u32) -> f64 {
    frames as f64 / f64::from(sample_rate_hz)
}

/// The frame nearest to a time; times before the start give 0.
pub fn seconds_to_frames(seconds: f64, sample_rate_hz: u32) -> u64 {
    (seconds * f64::from(sample_rate_hz)).round().max(0.0) as u64
}
