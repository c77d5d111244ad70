//! A stretch of time.

use serde::{Deserialize, Serialize};

/// A stretch of time, in seconds from the start.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// Where it starts.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
}

impl Stretch {
    /// Its length in seconds.
    pub fn seconds(&self) -> f64 {
        self.end_s - self.start_s
    }
}
