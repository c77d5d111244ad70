//! What is known of a sound's finer traits.

use serde::{Deserialize, Serialize};

/// Finer traits of a file's sound. Empty where they were not measured.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Traits {
    /// Hum in the pauses.
    pub hum: Option<Hum>,
    /// Steps at edges of files and regions.
    pub clicks: Vec<Click>,
    /// How it dies away after hits.
    pub decay: Option<Decay>,
    /// Median over its hits of the peak against the level of the 200 ms that follow,
    /// dB; `None` with fewer than four hits.
    pub hit_crest_db: Option<f64>,
    /// Constant offset of the worse channel, dBFS; `None` where chance may make it.
    pub offset_dbfs: Option<f64>,
}

/// Mains hum heard in pauses.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hum {
    /// 50 or 60 Hz.
    pub mains_hz: f64,
    /// Level of mains and harmonics together, dBFS (mean square).
    pub level_dbfs: f64,
    /// How far they stand out of what lies between them, dB.
    pub above_db: f64,
    /// Harmonics found beside the mains itself.
    pub harmonics: usize,
    /// Length of the pauses it was read in, seconds.
    pub pauses_s: f64,
    /// A pause to hear it in.
    pub at_s: f64,
}

/// A step in the samples where a file or region begins or ends.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Click {
    /// Where, in seconds of the file.
    pub at_s: f64,
    /// Height of the step, dBFS.
    pub step_dbfs: f64,
    /// Height against the loudest steps of the sound around it, dB.
    pub above_db: f64,
    /// Whether it is at an edge of the file, else of a region in it.
    pub file_edge: bool,
}

/// How a sound dies away after its hits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Decay {
    /// Time for 60 dB, seconds, of the slow part of the decay.
    pub seconds: f64,
    /// The same below 120 Hz, where it was read.
    pub below_120_s: Option<f64>,
    /// Level of the slow part against the hits, LU (its energy against theirs, above
    /// 250 Hz), held within +-40.
    pub level_lu: f64,
    /// How far the slow part, drawn back to the hit, lies below it, dB. Near 0 it is
    /// no second part at all: the sound itself dies away so.
    #[serde(default)]
    pub drop_db: f64,
    /// Level of the slow part below 120 Hz against all of the slow part, dB.
    pub low_part_db: Option<f64>,
    /// Gaps it was read in.
    pub gaps: usize,
    /// How far the gaps agree, as a part of `seconds` (median deviation).
    pub spread: f64,
}
