//! `cupel balance`: computes moves and writes them down.

use std::path::Path;

use cupel_work::BalanceOptions;

use crate::args::Common;
use crate::commands::{place, report_problems, with_context};
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;
use crate::view::{self, State};

pub(crate) fn run(
    session: Option<&Path>,
    options: BalanceOptions,
    common: &Common,
) -> Result<Exit, Failure> {
    let place = place(session)?;
    let balanced = with_context(common, |context| {
        Ok(cupel_work::balance(&place, options, context)?)
    })?;
    let state = State::after(
        &balanced.assayed,
        &balanced.moves,
        &balanced.predicted,
        false,
    )
    .found(&balanced.found)
    .mono(&balanced.mono);
    view::write_report(&state)?;
    if common.json {
        print_json(&json::balance::Document::of(&balanced))?;
    } else {
        print_text(&text::balance::summary(&balanced, &state))?;
    }
    Ok(report_problems(&balanced.assayed.surveyed.problems))
}
