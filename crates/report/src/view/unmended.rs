//! What no fader mends, as plain data.

use serde::{Deserialize, Serialize};

/// One difference that stays after the best balance.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Unmended {
    /// Where, such as `80 Hz to 120 Hz`.
    pub place: String,
    /// How much, with sign and unit, such as `-3.1 dB`.
    pub how_much: String,
    /// Track or element it belongs to; `None` where it is nobody's.
    pub whose: Option<String>,
    /// What it comes from.
    pub cause: Cause,
    /// What it means, one sentence.
    pub sentence: String,
}

/// Where a difference comes from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// Another sound: choose or shape it.
    #[default]
    Sound,
    /// One side plays something that the other does not.
    Arrangement,
}
