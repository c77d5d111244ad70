//! `cupel report`: writes the report of the session as it stands.

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
    let reported = with_context(common, |context| Ok(cupel_work::report(&place, context)?))?;
    let state = match &reported.after {
        Some(after) => State::after(&reported.assayed, &reported.moves, after, false),
        None => State::before(&reported.assayed),
    };
    let state = match &reported.found {
        Some(found) => state.found(found).mono(&reported.mono),
        None => state,
    };
    let path = view::write_report(&state)?;
    if common.json {
        print_json(&json::report::Document::of(&view::report(&state)))?;
    } else {
        print_text(&text::report::summary(&state, &path))?;
    }
    Ok(report_problems(&reported.assayed.surveyed.problems))
}
