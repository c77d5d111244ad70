//! `explain --json`.

use cupel_findings::Kind;
use serde::Serialize;

use crate::json::VERSION;

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    #[serde(flatten)]
    kind: &'a Kind,
}

impl<'a> Document<'a> {
    pub(crate) fn of(kind: &'a Kind) -> Self {
        Self {
            schema: "cupel/explain",
            version: VERSION,
            kind,
        }
    }
}

/// All kinds of findings.
#[derive(Debug, Serialize)]
pub(crate) struct All<'a> {
    schema: &'static str,
    version: u32,
    findings: &'a [&'a Kind],
}

impl<'a> All<'a> {
    pub(crate) fn of(findings: &'a [&'a Kind]) -> Self {
        Self {
            schema: "cupel/explain-all",
            version: VERSION,
            findings,
        }
    }
}
