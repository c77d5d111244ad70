//! How the distance to the reference falls, move by move, as plain data.

use serde::{Deserialize, Serialize};

/// The path of the distance.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PathView {
    /// The named parts of the distance.
    pub parts: Vec<PathPart>,
    /// Names of the moves in the order in which they were made.
    pub steps: Vec<String>,
}

/// One part of the distance along the moves; 0 is the reference.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PathPart {
    /// What it is, such as `bar map`.
    pub name: String,
    /// Its unit, such as `dB`.
    pub unit: String,
    /// Before the first move.
    pub start: f64,
    /// After the last move.
    pub end: f64,
    /// After each move, one value a step of the path.
    pub steps: Vec<f64>,
}
