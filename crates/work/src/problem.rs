//! A file that could not be used, while the others could.

use serde::Serialize;

/// What went wrong with one file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// The file, relative to the session's folder or as given.
    pub file: String,
    /// What is wrong, where.
    pub error: String,
    /// How to mend it.
    pub hint: Option<String>,
}
