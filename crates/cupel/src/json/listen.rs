//! `listen --json`.

use serde::Serialize;

use crate::json::VERSION;

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    /// What to open, with the token.
    address: &'a str,
}

impl<'a> Document<'a> {
    pub(crate) fn of(address: &'a str) -> Self {
        Self {
            schema: "cupel/listen",
            version: VERSION,
            address,
        }
    }
}
