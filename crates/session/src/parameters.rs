//! Kinds of moves and their settings.

use serde::{Serialize, Serializer};

/// What a move does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MoveKind {
    /// The same gain on every track.
    Trim,
    /// A gain on a track, a group or the mix.
    Fader,
    /// A place between left and right.
    Pan,
    /// Polarity turned over.
    Polarity,
    /// A shift in time.
    Offset,
    /// A high-pass filter.
    LowCut,
}

impl MoveKind {
    /// All kinds.
    pub const ALL: [Self; 6] = [
        Self::Trim,
        Self::Fader,
        Self::Pan,
        Self::Polarity,
        Self::Offset,
        Self::LowCut,
    ];

    /// The name as written in the session file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Trim => "trim",
            Self::Fader => "fader",
            Self::Pan => "pan",
            Self::Polarity => "polarity",
            Self::Offset => "offset",
            Self::LowCut => "low-cut",
        }
    }

    /// The kind of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// The keys that `parameters` may have.
    pub fn parameter_keys(self) -> &'static [&'static str] {
        match self {
            Self::Trim | Self::Fader => &["gain_db"],
            Self::Pan => &["position", "left_db", "right_db"],
            Self::Polarity => &[],
            Self::Offset => &["delay_ms", "delay_samples"],
            Self::LowCut => &["cutoff_hz", "slope_db_per_octave"],
        }
    }
}

impl Serialize for MoveKind {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

/// The settings of a move, one form a kind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Parameters {
    /// Of a trim.
    Trim {
        /// Gain, -96 to 24 dB.
        gain_db: f64,
    },
    /// Of a fader.
    Fader {
        /// Gain, -96 to 24 dB.
        gain_db: f64,
    },
    /// Of a pan.
    Pan {
        /// From -1 (left) to 1 (right).
        position: f64,
        /// What it does to the left side, in decibels: information only.
        /// `None` where unknown or silent.
        left_db: Option<f64>,
        /// What it does to the right side, in decibels: information only.
        /// `None` where unknown or silent.
        right_db: Option<f64>,
    },
    /// Of a polarity move: there is nothing to set.
    Polarity {},
    /// Of an offset.
    Offset(Delay),
    /// Of a low cut.
    LowCut {
        /// Where the response is 3 dB down, 10 to 8000 Hz.
        cutoff_hz: f64,
        /// How steeply it falls below: 12 or 24.
        slope_db_per_octave: u32,
    },
}

/// How far a track is shifted; positive is later.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Delay {
    /// In time.
    Milliseconds {
        /// -1000 to 1000 ms.
        delay_ms: f64,
    },
    /// In samples at the session's rate.
    Samples {
        /// -384000 to 384000 samples.
        delay_samples: i64,
    },
}

impl Delay {
    /// The shift in samples at that rate; milliseconds go to the nearest.
    pub fn samples(self, sample_rate_hz: f64) -> i64 {
        match self {
            Self::Samples { delay_samples } => delay_samples,
            Self::Milliseconds { delay_ms } => (delay_ms * sample_rate_hz / 1000.0).round() as i64,
        }
    }
}

impl Parameters {
    /// The kind these settings belong to.
    pub fn kind(&self) -> MoveKind {
        match self {
            Self::Trim { .. } => MoveKind::Trim,
            Self::Fader { .. } => MoveKind::Fader,
            Self::Pan { .. } => MoveKind::Pan,
            Self::Polarity {} => MoveKind::Polarity,
            Self::Offset(_) => MoveKind::Offset,
            Self::LowCut { .. } => MoveKind::LowCut,
        }
    }

    /// The gain of a trim or fader, in decibels.
    pub fn gain_db(&self) -> Option<f64> {
        match self {
            Self::Trim { gain_db } | Self::Fader { gain_db } => Some(*gain_db),
            _ => None,
        }
    }
}
