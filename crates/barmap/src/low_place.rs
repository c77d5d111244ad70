//! The places of the low end that move with note and kick.

use serde::{Deserialize, Serialize};

/// The window's own smear: a place holds this part (-20 dB) of the loudest
/// place at least.
const SMEAR: f64 = 0.01;
/// The same below the note (-10 dB), where partials lie closest.
const SMEAR_UNDER: f64 = 0.1;
const KICK_LOWS_HZ: (f64, f64) = (25.0, 150.0);

/// Places that hang on a kick's fundamental, and those that hang on a note's.
pub(crate) const KICK_PLACES: [LowPlace; 2] = [LowPlace::KickBody, LowPlace::KickPunch];
pub(crate) const BASS_PLACES: [LowPlace; 4] = [
    LowPlace::UnderNote,
    LowPlace::Note,
    LowPlace::Octave,
    LowPlace::AboveOctave,
];

/// A place of the low end, with its edges in multiples of the note's (or
/// kick's) fundamental.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LowPlace {
    /// Below the bass note: up to 0.7.
    UnderNote,
    /// The note: 0.7 to 1.5.
    Note,
    /// Its octave: 1.5 to 2.5.
    Octave,
    /// Its third and fourth partials: 2.5 to 4.5.
    AboveOctave,
    /// The kick's fundamental: 0.7 to 1.5.
    KickBody,
    /// Where a kick falls from: 1.5 to 3.5.
    KickPunch,
    /// All of a kick's lows, 25 Hz to 150 Hz, wherever its fundamental is.
    KickLows,
}

impl LowPlace {
    /// All places, bass first.
    pub const ALL: [Self; 7] = [
        Self::UnderNote,
        Self::Note,
        Self::Octave,
        Self::AboveOctave,
        Self::KickBody,
        Self::KickPunch,
        Self::KickLows,
    ];

    /// Its edges around a fundamental.
    pub fn edges_hz(self, fundamental_hz: f64) -> (f64, f64) {
        let (from, to) = match self {
            Self::UnderNote => (0.0, 0.7),
            Self::Note | Self::KickBody => (0.7, 1.5),
            Self::Octave => (1.5, 2.5),
            Self::AboveOctave => (2.5, 4.5),
            Self::KickPunch => (1.5, 3.5),
            Self::KickLows => return KICK_LOWS_HZ,
        };
        (from * fundamental_hz, to * fundamental_hz)
    }

    /// Part of the loudest place that may be smear.
    pub(crate) fn smear(self) -> f64 {
        match self {
            Self::UnderNote => SMEAR_UNDER,
            _ => SMEAR,
        }
    }

    /// Its name for people, such as `bass note`.
    pub fn words(self) -> &'static str {
        match self {
            Self::UnderNote => "under note",
            Self::Note => "bass note",
            Self::Octave => "octave",
            Self::AboveOctave => "overtones",
            Self::KickBody => "kick body",
            Self::KickPunch => "kick punch",
            Self::KickLows => "kick lows",
        }
    }

    /// Whether the place hangs on the kick.
    pub fn is_kick(self) -> bool {
        matches!(self, Self::KickBody | Self::KickPunch | Self::KickLows)
    }
}
