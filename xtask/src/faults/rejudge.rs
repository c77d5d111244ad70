//! Evidence that was kept, judged by the rules as they are now: seconds instead of
//! half an hour, for those who work on a rule. The proof itself asks the program.

use std::fs;
use std::path::Path;

use cupel_findings::{Evidence, judge};
use rayon::prelude::*;
use serde_json::json;

use crate::error::XtaskError;
use crate::faults::Options;
use crate::faults::trial::{Outcome, found};

/// Every trial of a folder: clean ones and those of the kinds that are wanted.
pub(crate) fn outcomes(folder: &Path, options: &Options) -> Result<Vec<Outcome>, XtaskError> {
    let only = &options.only;
    let entries = fs::read_dir(folder).map_err(XtaskError::file(folder))?;
    let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "done"));
    paths.sort();
    let all: Result<Vec<Outcome>, XtaskError> = paths
        .par_iter()
        .map(|path| one(path, options.as_answered))
        .collect();
    let mut all = all?;
    all.retain(|outcome| {
        let mut faults = outcome.faults.iter();
        only.is_empty()
            || outcome.faults.is_empty()
            || faults.any(|done| only.contains(&done.fault))
    });
    Ok(all)
}

fn one(path: &Path, as_answered: bool) -> Result<Outcome, XtaskError> {
    let answer = |source| XtaskError::Answer {
        program: "evidence",
        source,
    };
    let read = |path: &Path| fs::read(path).map_err(XtaskError::file(path));
    let mut outcome: Outcome = serde_json::from_slice(&read(path)?).map_err(answer)?;
    if as_answered || outcome.no_place || outcome.failed.is_some() {
        return Ok(outcome);
    }
    let evidence: Evidence =
        serde_json::from_slice(&read(&path.with_extension("json"))?).map_err(answer)?;
    // names of files stand in for ids
    let ids = evidence
        .tracks
        .iter()
        .map(|track| json!({ "id": track.id, "file": format!("{}.wav", track.file.name) }));
    let document = json!({
        "tracks": ids.collect::<Vec<_>>(),
        "findings": serde_json::to_value(judge(&evidence)).map_err(answer)?,
    });
    outcome.found = found(&document);
    Ok(outcome)
}
