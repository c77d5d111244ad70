//! `cupel open`: from a folder to a session file.

use std::path::Path;

use cupel_work::OpenOptions;

use crate::args::Common;
use crate::commands::{place, report_problems, with_context};
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;

pub(crate) fn run(audio: &Path, options: OpenOptions, common: &Common) -> Result<Exit, Failure> {
    let place = place(Some(audio))?;
    let opened = with_context(common, |context| {
        Ok(cupel_work::open(place, &options, context)?)
    })?;
    if common.json {
        print_json(&json::open::Document::of(&opened))?;
    } else {
        print_text(&text::open::summary(&opened))?;
    }
    Ok(report_problems(&opened.problems))
}
