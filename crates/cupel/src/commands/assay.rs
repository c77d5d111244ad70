//! `cupel assay`: can the tracks be trusted, and what do they measure?

use std::path::Path;

use crate::args::Common;
use crate::commands::{place, report_problems, with_context};
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;
use crate::view::{self, State};

pub(crate) fn run(session: Option<&Path>, common: &Common) -> Result<Exit, Failure> {
    let place = place(session)?;
    let assayed = with_context(common, |context| Ok(cupel_work::assay(&place, context)?))?;
    view::write_report(&State::before(&assayed))?;
    if common.json {
        print_json(&json::assay::Document::of(&assayed))?;
    } else {
        print_text(&text::assay::summary(&assayed))?;
    }
    Ok(report_problems(&assayed.surveyed.problems))
}
