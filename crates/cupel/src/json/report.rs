//! `report --json`: all that the page shows, as data.

use cupel_report::Report;
use serde::Serialize;

use crate::json::VERSION;

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    #[serde(flatten)]
    report: &'a Report,
}

impl<'a> Document<'a> {
    pub(crate) fn of(report: &'a Report) -> Self {
        Self {
            schema: "cupel/report",
            version: VERSION,
            report,
        }
    }
}
