//! Who eats the headroom, as plain data.

use serde::{Deserialize, Serialize};

/// The highest peaks of the sum, and what each track adds to them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PeaksView {
    /// What the drawing shows, in words; written by the page where empty.
    pub sentence: String,
    /// Length of the mix in seconds; the drawing's clock.
    pub seconds: f64,
    /// The peaks, by time.
    pub peaks: Vec<PeakMark>,
    /// Tracks in the session's order.
    pub rows: Vec<PeakRow>,
}

/// One of the highest peaks.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PeakMark {
    /// When it is.
    pub time_s: f64,
    /// How high the sum is there, dBFS.
    pub level_dbfs: f64,
    /// The track with the largest share in it; empty where not known.
    pub largest: String,
}

/// A track's part in the peaks.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PeakRow {
    /// Name of the track.
    pub track: String,
    /// Mean of its signed shares, 1 = all of it; below 0 where it takes away
    /// from the peaks. With the moves that are on.
    pub share: f64,
    /// The same before the moves, where there are some.
    pub before: Option<f64>,
}
