//! A layer: what plays where in the bar.

use serde::{Deserialize, Serialize};

/// What a layer is, no more exactly than its sound bears.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LayerKind {
    /// Short hit of the lowest octaves.
    Kick,
    /// Notes of the lowest octaves.
    Bass,
    /// A short hit between bass and hats: snare, clap, rim, percussion.
    Hit,
    /// Short hits above 5 kHz or so.
    Hat,
    /// Longer hits above 5 kHz or so.
    OpenHat,
    /// Short high hits in running sixteenths.
    Shaker,
    /// Notes or chords that are struck.
    Notes,
    /// Sustained sound.
    Pad,
    /// A voice; only where it is known to be one.
    Voice,
}

impl LayerKind {
    /// The plain word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Kick => "kick",
            Self::Bass => "bass",
            Self::Hit => "hit",
            Self::Hat => "hat",
            Self::OpenHat => "open hat",
            Self::Shaker => "shaker",
            Self::Notes => "notes",
            Self::Pad => "pad",
            Self::Voice => "voice",
        }
    }
}

/// One layer of a passage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// What it is.
    pub kind: LayerKind,
    /// In words: `short 1.5 kHz hit on beats 2 and 4`.
    pub name: String,
    /// Id of the track it is; `None` where it was found in a mix.
    pub id: Option<String>,
    /// Sixteenths it plays in, from 0, within `pattern_bars` bars: where its hits
    /// start, and where a sustained sound is heard.
    pub places: Vec<usize>,
    /// Bars after which the places repeat: 1, 2 or 4.
    pub pattern_bars: usize,
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Where the middle four fifths of its loudness lie.
    pub band_hz: (f64, f64),
    /// From the start of a hit until it has fallen by 12 dB.
    pub length_ms: f64,
    /// Whether it sounds on, not in hits.
    pub sustained: bool,
    /// -1 left to 1 right, as a constant-power pan would place it.
    pub side: f64,
    /// 0 where both sides hold the same, 1 where they hold unlike sounds.
    pub wide: f64,
    /// Loudness while it plays against the loudest layer.
    pub level_db: f64,
    /// How sure it is that there is such a layer, 0 to 1.
    pub sure: f64,
}

/// Numbers known from elsewhere; all of them may be left out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LayerContext {
    /// Fundamental the kick falls to.
    pub kick_hz: Option<f64>,
    /// Lowest and highest fundamental of the bass.
    pub bass_hz: Option<(f64, f64)>,
}
