//! `cupel assay`: can the tracks be trusted, and what do they measure?

use std::fs;
use std::path::Path;

use cupel_findings::Evidence;
use cupel_work::WorkError;

use crate::args::Common;
use crate::commands::{place, report_problems, with_context};
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;
use crate::view::{self, State};

pub(crate) fn run(
    session: Option<&Path>,
    evidence: Option<&Path>,
    common: &Common,
) -> Result<Exit, Failure> {
    let place = place(session)?;
    let assayed = with_context(common, |context| Ok(cupel_work::assay(&place, context)?))?;
    if let Some(path) = evidence {
        write_evidence(path, &assayed.evidence)?;
    }
    view::write_report(&State::before(&assayed))?;
    if common.json {
        print_json(&json::assay::Document::of(&assayed))?;
    } else {
        print_text(&text::assay::summary(&assayed))?;
    }
    Ok(report_problems(&assayed.surveyed.problems))
}

/// Writes what the findings are made from, whole or not at all.
fn write_evidence(path: &Path, evidence: &Evidence) -> Result<(), Failure> {
    let unfinished = path.with_extension(format!("{}.unfinished", std::process::id()));
    let written = serde_json::to_vec(evidence)
        .map_err(std::io::Error::other)
        .and_then(|bytes| fs::write(&unfinished, bytes))
        .and_then(|()| fs::rename(&unfinished, path));
    written.map_err(|source| {
        let _ = fs::remove_file(&unfinished);
        let path = path.to_owned();
        Failure::from(WorkError::Write { path, source })
    })
}
