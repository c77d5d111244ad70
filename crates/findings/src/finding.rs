//! One finding.

use serde::Serialize;

use crate::kind::{Cause, Family, Grade, Kind};

/// What to press to hear it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Listen {
    /// Ids of the tracks to solo; empty for the whole mix.
    pub solo: Vec<String>,
    /// Where to loop, in seconds of the session.
    pub span_s: Option<(f64, f64)>,
    /// What to let through, lowest and highest, in hertz.
    pub band_hz: Option<(f64, f64)>,
    /// Which part of left and right.
    pub side: Sides,
    /// The same in words, and what to listen for.
    pub words: String,
}

/// What to hear of left and right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sides {
    /// Both as they are.
    #[default]
    Stereo,
    /// Folded to one.
    Mono,
    /// Only what differs.
    Difference,
}

/// A small drawing of the very thing measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Picture {
    /// Values beside each other.
    Bars {
        /// Unit of the values.
        unit: String,
        /// Name, value, and whether it is the one meant.
        rows: Vec<PictureRow>,
        /// Where the limit lies.
        limit: Option<f64>,
    },
    /// A curve, with a second one to compare with.
    Curve {
        /// Unit along: `Hz` is drawn by octaves.
        along: String,
        /// Unit upward.
        unit: String,
        /// Points.
        points: Vec<(f64, f64)>,
        /// The reference, or the rule.
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

/// One value of a [`Picture::Bars`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureRow {
    /// What it is.
    pub name: String,
    /// Its value.
    pub value: f64,
    /// Whether it is the one meant.
    pub meant: bool,
}

/// Something found: right, worth a look, or to mend.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Name of its kind.
    pub name: &'static str,
    /// Its kind in plain words.
    pub title: &'static str,
    /// Where it belongs.
    pub family: Family,
    /// What has to change.
    pub cause: Cause,
    /// How much it matters.
    pub grade: Grade,
    /// How likely it is right, 0 to 1.
    pub sure: f64,
    /// Whether to take it as a hint only.
    pub unsure: bool,
    /// The finding in one plain sentence: element, quantity, direction, amount, place.
    pub sentence: String,
    /// Ids of the tracks it concerns; empty for the whole mix.
    pub tracks: Vec<String>,
    /// Name of the element, where it is one.
    pub element: Option<String>,
    /// Where, in seconds of the session.
    pub spans_s: Vec<(f64, f64)>,
    /// Where, in hertz.
    pub band_hz: Option<(f64, f64)>,
    /// How large it is, in `unit`; 1 for yes.
    pub value: f64,
    /// Unit of `value` and `against`.
    pub unit: &'static str,
    /// The reference's value, or that of the rule.
    pub against: Option<f64>,
    /// The rule it breaks, or where `against` comes from.
    pub rule: String,
    /// How to mend it here; empty where there is nothing to mend.
    pub mend: String,
    /// Ids of the moves of the session file that would mend it.
    pub moves: Vec<String>,
    /// How to hear it.
    pub listen: Listen,
    /// The very thing measured.
    pub picture: Option<Picture>,
    /// How much it holds the mix back beside the others.
    pub weight: f64,
    /// What follows from it.
    pub follows: Vec<Finding>,
}

impl Finding {
    /// A finding of a kind with a value and a sentence; the rest is filled in with
    /// `..`-less setters below.
    pub fn new(kind: &Kind, grade: Grade, value: f64, sentence: impl Into<String>) -> Self {
        Self {
            name: kind.name,
            title: kind.title,
            family: kind.family,
            cause: kind.cause,
            grade,
            sure: 0.9,
            unsure: kind.unsure,
            sentence: sentence.into(),
            tracks: Vec::new(),
            element: None,
            spans_s: Vec::new(),
            band_hz: None,
            value,
            unit: kind.sizes.unit,
            against: None,
            rule: String::new(),
            mend: String::new(),
            moves: Vec::new(),
            listen: Listen::default(),
            picture: None,
            weight: weight(kind, grade, value),
            follows: Vec::new(),
        }
    }

    /// Names the tracks it concerns, and solos them.
    pub fn on(mut self, tracks: impl IntoIterator<Item = impl Into<String>>) -> Self {
        self.tracks = tracks.into_iter().map(Into::into).collect();
        self.listen.solo = self.tracks.clone();
        self
    }

    /// Names the element.
    pub fn of_element(mut self, element: impl Into<String>) -> Self {
        self.element = Some(element.into());
        self
    }

    /// Says where in time; the first place is the one to listen at.
    pub fn at(mut self, spans_s: Vec<(f64, f64)>) -> Self {
        self.listen.span_s = spans_s.first().copied();
        self.spans_s = spans_s;
        self
    }

    /// Says where in frequency, also for listening.
    pub fn in_band(mut self, band_hz: (f64, f64)) -> Self {
        self.band_hz = Some(band_hz);
        self.listen.band_hz = Some(band_hz);
        self
    }

    /// The value it is held against, and where that comes from.
    pub fn against(mut self, value: f64, rule: impl Into<String>) -> Self {
        self.against = Some(value);
        self.rule = rule.into();
        self
    }

    /// How to mend it.
    pub fn mend(mut self, words: impl Into<String>) -> Self {
        self.mend = words.into();
        self
    }

    /// How likely it is right.
    pub fn sure(mut self, sure: f64) -> Self {
        self.sure = sure;
        self
    }

    /// What to listen for, in words.
    pub fn hear(mut self, words: impl Into<String>) -> Self {
        self.listen.words = words.into();
        self
    }

    /// What to hear of left and right.
    pub fn sides(mut self, side: Sides) -> Self {
        self.listen.side = side;
        self
    }

    /// Hears the whole mix instead of solo tracks.
    pub fn in_the_mix(mut self) -> Self {
        self.listen.solo.clear();
        self
    }

    /// The drawing.
    pub fn picture(mut self, picture: Picture) -> Self {
        self.picture = Some(picture);
        self
    }

    /// Only to look at, whatever it was before.
    pub fn only_a_look(mut self) -> Self {
        if self.grade == Grade::Mend {
            self.grade = Grade::Look;
            self.weight *= 0.4;
        }
        self
    }

    /// Another cause than that of its kind.
    pub fn cause(mut self, cause: Cause) -> Self {
        self.cause = cause;
        self
    }
}

/// A fault of twice its size weighs more, but not twice as much.
fn weight(kind: &Kind, grade: Grade, value: f64) -> f64 {
    let times = kind.sizes.size().map_or(1.0, |size| (value / size).abs());
    let grade = match grade {
        Grade::Good => 0.0,
        Grade::Look => 0.4,
        Grade::Mend => 1.0,
    };
    kind.weight * grade * times.clamp(0.25, 4.0).sqrt()
}
