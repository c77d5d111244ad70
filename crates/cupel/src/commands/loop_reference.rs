//! `cupel loop`: the reference at the session's tempo, to listen to.

use std::path::Path;

use cupel_work::LoopOptions;

use crate::args::Common;
use crate::commands::{place, report_problems, with_context};
use crate::exit::Exit;
use crate::output::{Failure, print_json, print_text};
use crate::{json, text};

pub(crate) fn run(
    session: Option<&Path>,
    session_key: bool,
    common: &Common,
) -> Result<Exit, Failure> {
    let place = place(session)?;
    let options = LoopOptions { session_key };
    let looped = with_context(common, |context| {
        Ok(cupel_work::loop_reference(&place, options, context)?)
    })?;
    if common.json {
        print_json(&json::looped::Document::of(&looped))?;
    } else {
        print_text(&text::looped::summary(&looped))?;
    }
    Ok(report_problems(&looped.assayed.surveyed.problems))
}
