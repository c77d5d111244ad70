//! `cupel explain`: what a finding is, for someone who wants to learn.

use cupel_findings::{all_kinds, kind_named};

use crate::args::Common;
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;

pub(crate) fn run(name: Option<&str>, common: &Common) -> Result<Exit, Failure> {
    let Some(name) = name else {
        let all: Vec<_> = all_kinds().collect();
        if common.json {
            print_json(&json::explain::All::of(&all))?;
        } else {
            print_text(&text::explain::list(&all))?;
        }
        return Ok(Exit::Done);
    };
    let Some(kind) = kind_named(name) else {
        return Err(Failure::said(
            format!("no finding is called {name:?}"),
            Some("cupel explain lists all names".into()),
        ));
    };
    if common.json {
        print_json(&json::explain::Document::of(kind))?;
    } else {
        print_text(&text::explain::summary(kind))?;
    }
    Ok(Exit::Done)
}
