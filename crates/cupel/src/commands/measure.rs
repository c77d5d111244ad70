//! `cupel measure`: facts of single files.

use std::path::PathBuf;

use cupel_work::{Problem, TempoRange};

use crate::args::Common;
use crate::commands::with_context;
use crate::exit::Exit;
use crate::json::measure::{Document, FileFacts};
use crate::output::{Failure, print_json, print_text};
use crate::text;

pub(crate) fn run(
    files: &[PathBuf],
    range: Option<TempoRange>,
    common: &Common,
) -> Result<Exit, Failure> {
    let settings = range.map(TempoRange::settings).unwrap_or_default();
    let results = with_context(common, |context| {
        Ok(cupel_work::measure(files, &settings, context))
    })?;
    let mut facts = Vec::new();
    let mut failed = 0;
    for (path, result) in files.iter().zip(&results) {
        let name = path.file_name().unwrap_or(path.as_os_str());
        let name = name.to_string_lossy().into_owned();
        match result {
            Ok((measured, music)) => facts.push(FileFacts::of(&name, measured, music)),
            Err(error) => {
                failed += 1;
                let mut problem = Problem::of(&name, path, error);
                if path.is_dir() {
                    problem.hint = Some("name the files in it, or run cupel open on it".into());
                }
                super::report_problems(std::slice::from_ref(&problem));
                facts.push(FileFacts::failed(&problem));
            }
        }
    }
    if common.json {
        print_json(&Document::new(facts))?;
    } else {
        print_text(&text::measure::summary(files, &results))?;
    }
    Ok(match failed {
        0 => Exit::Done,
        n if n == files.len() => Exit::Failed,
        _ => Exit::Partly,
    })
}
