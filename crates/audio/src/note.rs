//! Health notes: what is odd about a file, in plain words.

use serde::{Deserialize, Serialize};

/// What kind of oddity; kebab-case in JSON.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HealthCode {
    /// Nothing but digital silence, or nothing above -90 dBFS.
    Silence,
    /// Runs of equal samples at full scale.
    ClippedRuns,
    /// Runs of equal samples at the file's own extreme, below full scale.
    FlatTops,
    /// Several files share one ceiling (a note for whoever sees all files).
    CommonCeiling,
    /// A constant offset.
    DcOffset,
    /// Left and right are the same.
    IdenticalChannels,
    /// One channel is silent, the other is not.
    DeadChannel,
    /// Right is the negative of left.
    InvertedChannels,
    /// NaN or infinite samples.
    NonFinite,
    /// Float samples over full scale.
    OverFullScale,
    /// The file ends before its header says.
    Truncated,
    /// The header contradicts the bytes.
    LyingHeader,
    /// Packets that could not be decoded; silence stands in their place.
    DamagedPackets,
    /// The file does not say how much delay its encoder added.
    UnknownDelay,
    /// The sound stops instead of dying away.
    TailCutOff,
    /// A brick wall in the spectrum, as lossy coding leaves (a note for whoever
    /// sees the spectrum).
    LossyBandwidth,
}

/// How much it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HealthGrade {
    /// Good to know.
    Info,
    /// Look at it: it may be meant.
    Look,
    /// Mend it.
    Mend,
}

/// One oddity of one file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HealthNote {
    /// The kind.
    pub code: HealthCode,
    /// How much it matters.
    pub grade: HealthGrade,
    /// What, where, and how to mend, for people.
    pub text: String,
    /// Where it is, in seconds from the start of the file.
    pub at_s: Option<f64>,
    /// The figure behind it.
    pub value: Option<f64>,
    /// The unit of `value`.
    pub unit: Option<String>,
}

impl HealthNote {
    /// A note without place or figure.
    pub fn new(code: HealthCode, grade: HealthGrade, text: impl Into<String>) -> Self {
        HealthNote {
            code,
            grade,
            text: text.into(),
            at_s: None,
            value: None,
            unit: None,
        }
    }

    /// Adds the place, in seconds from the start of the file.
    pub fn at(mut self, at_s: f64) -> Self {
        self.at_s = Some(at_s);
        self
    }

    /// Adds the figure and its unit.
    pub fn with_value(mut self, value: f64, unit: &str) -> Self {
        self.value = Some(value);
        self.unit = Some(unit.to_string());
        self
    }
}
