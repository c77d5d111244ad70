//! The low end by note and over time, as plain data.

use serde::{Deserialize, Serialize};

use super::Owner;

/// The low end of the compared passages as exported, at equal loudness.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LowEndView {
    /// What the drawing by note shows, in words; written by the page where empty.
    pub sentence: String,
    /// Semitones in rising order.
    pub notes: Vec<LowNoteBand>,
    /// The line of the mix over its passage.
    pub mix: Option<LowLine>,
    /// The line of the reference over its own.
    pub reference: Option<LowLine>,
}

/// Energy around one semitone.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LowNoteBand {
    /// MIDI number, A4 = 69 at 440 Hz.
    pub midi: i32,
    /// Level of the mix; `None` for silence.
    pub mix_db: Option<f64>,
    /// Level of the reference, turned to equal loudness.
    pub reference_db: Option<f64>,
    /// Whose energy it is in the mix.
    pub owners: Vec<Owner>,
}

/// What the low end of one side plays over its passage.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LowLine {
    /// Start and end of the passage on the clock of its file.
    pub span_s: (f64, f64),
    /// Starts of bars within it.
    pub bar_starts_s: Vec<f64>,
    /// The notes of the bass.
    pub notes: Vec<PlayedNote>,
    /// When the kick hits, where it was heard.
    pub kicks_s: Vec<f64>,
    /// Fundamental of the kick.
    pub kick_hz: Option<f64>,
}

/// One note of a bass.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PlayedNote {
    /// Its start.
    pub start_s: f64,
    /// Its end.
    pub end_s: f64,
    /// MIDI number, A4 = 69.
    pub midi: i32,
    /// Level of its lows, dBFS.
    pub level_db: f64,
}
