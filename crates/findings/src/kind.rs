//! What is known of a kind of finding before anything is measured.

use serde::{Deserialize, Serialize};

/// Where in the work a finding belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// The exported files.
    Files,
    /// Levels of tracks and mix.
    Level,
    /// Whether the reference fits.
    Reference,
    /// The sounds themselves.
    Sound,
    /// Kick, bass and what lies below them.
    LowEnd,
    /// Left, right and the sides.
    Stereo,
    /// The middle and the top end.
    TopAndMiddle,
    /// What is not heard.
    Masking,
    /// Loud and soft over time.
    Dynamics,
    /// Other loudspeakers.
    Translation,
    /// Room and reverb.
    Space,
}

impl Family {
    /// The plain words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Files => "files",
            Self::Level => "levels",
            Self::Reference => "reference",
            Self::Sound => "sounds",
            Self::LowEnd => "low end",
            Self::Stereo => "left and right",
            Self::TopAndMiddle => "middle and top",
            Self::Masking => "what is hidden",
            Self::Dynamics => "dynamics",
            Self::Translation => "other loudspeakers",
            Self::Space => "room",
        }
    }
}

/// What kind of thing has to change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// The file: export again.
    File,
    /// The mix: faders, pans, sends.
    Mix,
    /// The sound itself: no fader mends it.
    Sound,
    /// What plays, and when.
    Arrangement,
    /// The reference, not the session.
    Reference,
}

/// How much it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// It is right as it is.
    Good,
    /// Look at it: it may be meant.
    Look,
    /// Mend it.
    Mend,
}

/// From which value on a finding is spoken of.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sizes {
    /// Unit of value and limits, such as `dB`; empty for yes or no.
    pub unit: &'static str,
    /// From here it is looked at; `None` where it is only ever mended.
    pub look: Option<f64>,
    /// From here it is mended; `None` where it is only ever looked at.
    pub mend: Option<f64>,
}

impl Sizes {
    /// Both limits.
    pub const fn both(unit: &'static str, look: f64, mend: f64) -> Self {
        Self {
            unit,
            look: Some(look),
            mend: Some(mend),
        }
    }

    /// Only looked at.
    pub const fn look(unit: &'static str, look: f64) -> Self {
        Self {
            unit,
            look: Some(look),
            mend: None,
        }
    }

    /// Only mended.
    pub const fn mend(unit: &'static str, mend: f64) -> Self {
        Self {
            unit,
            look: None,
            mend: Some(mend),
        }
    }

    /// The size of the fault: the limit for mending, or the one for looking.
    pub fn size(&self) -> Option<f64> {
        self.mend.or(self.look)
    }

    /// Grade of a value that is worse the larger it is; `None` under both limits.
    pub fn grade(&self, value: f64) -> Option<Grade> {
        let reaches = |limit: Option<f64>| limit.is_some_and(|limit| value >= limit);
        match (reaches(self.mend), reaches(self.look)) {
            (true, _) => Some(Grade::Mend),
            (false, true) => Some(Grade::Look),
            _ => None,
        }
    }
}

/// A kind of finding, under the headings every one has.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Kind {
    /// Stable name, as in `cupel explain NAME`.
    pub name: &'static str,
    /// Where it belongs.
    pub family: Family,
    /// A few plain words.
    pub title: &'static str,
    /// What has to change, unless the finding knows better.
    pub cause: Cause,
    /// Limits.
    pub sizes: Sizes,
    /// How much it holds a mix back beside the others at its size, 0 to 1.
    pub weight: f64,
    /// Names of kinds that may be mere consequences of it.
    pub brings: &'static [&'static str],
    /// Whether its proof fell short, so that it calls itself unsure.
    pub unsure: bool,
    /// What it measures.
    pub measures: &'static str,
    /// Why it matters.
    pub matters: &'static str,
    /// Threshold and source.
    pub threshold: &'static str,
    /// How to mend it.
    pub mend: &'static str,
    /// When it is wrong.
    pub wrong: &'static str,
    /// How to hear it.
    pub hear: &'static str,
    /// How to train the ear for it.
    pub train: &'static str,
}
