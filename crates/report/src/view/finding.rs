//! A finding with its evidence.

use serde::{Deserialize, Serialize};

/// One finding as the page shows it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct FindingView {
    /// Whether it has to be mended, else only looked at.
    pub mend_it: bool,
    /// The number it rests on, with unit; empty for yes or no.
    pub number: String,
    /// What was found, one sentence.
    pub sentence: String,
    /// Whose it is: tracks or element; empty for the whole mix.
    pub whose: String,
    /// Where in time, such as `2:08-2:38`.
    pub time: Option<String>,
    /// How to mend it; empty where nothing is to be done.
    pub mend: String,
    /// How to hear it.
    pub hear: String,
    /// What follows from it, in a few words each.
    pub follows: Vec<String>,
    /// Whether it is only a hint.
    pub unsure: bool,
    /// Stable name of its kind, for `cupel explain`.
    pub name: String,
    /// The very thing measured.
    pub picture: Option<FindingPicture>,
}

/// A small drawing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum FindingPicture {
    /// Values beside each other.
    Bars {
        /// Unit of the values.
        unit: String,
        /// Name, value, whether it is the one meant.
        rows: Vec<(String, f64, bool)>,
        /// Where the limit lies.
        limit: Option<f64>,
    },
    /// A curve with another to compare with.
    Curve {
        /// Unit along; `Hz` is drawn by octaves.
        along: String,
        /// Unit upward.
        unit: String,
        /// Points.
        points: Vec<(f64, f64)>,
        /// The other.
        against: Vec<(f64, f64)>,
        /// The stretch meant.
        mark: Option<(f64, f64)>,
    },
    /// A beam in balance.
    Beam {
        /// Right over left, dB.
        lean_db: f64,
        /// Level up to here.
        limit_db: f64,
    },
    /// Places in time.
    Places {
        /// Length of the whole, seconds.
        seconds: f64,
        /// The places.
        spans_s: Vec<(f64, f64)>,
    },
}
