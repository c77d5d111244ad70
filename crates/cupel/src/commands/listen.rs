//! `cupel listen`: opens the listening page of a session.

use std::path::Path;

use cupel_listen::{ListenError, Room, serve};
use cupel_work::Hearing;

use crate::args::Common;
use crate::commands::{open_store, place, report_problems, with_context};
use crate::exit::Exit;
use crate::json;
use crate::output::{Failure, print_json, print_text};
use crate::text;
use crate::view::{self, State};

pub(crate) fn run(session: Option<&Path>, port: u16, common: &Common) -> Result<Exit, Failure> {
    let place = place(session)?;
    let hearing = with_context(common, |context| Ok(Hearing::of(&place, context)?))?;
    let exit = report_problems(&hearing.assayed.surveyed.problems);
    let drawn = view::report(&State::before(&hearing.assayed));
    let drawings = (cupel_report::drawings(&drawn), cupel_report::sheet());
    let room = Room::new(hearing, drawings, open_store(common)?).map_err(failure)?;
    let ready = |serving: &cupel_listen::Serving| {
        let said = match common.json {
            true => print_json(&json::listen::Document::of(&serving.address)),
            false => print_text(&text::listen::summary(&serving.address)),
        };
        if let Err(failure) = said {
            eprintln!("warning: {}", failure.message);
        }
    };
    serve(room, port, ready, std::future::pending()).map_err(failure)?;
    Ok(exit)
}

fn failure(error: ListenError) -> Failure {
    let hint = match &error {
        ListenError::Bind { port, .. } if *port != 0 => {
            Some("leave out --port to take any free one".into())
        }
        _ => None,
    };
    match error {
        ListenError::Work(error) => error.into(),
        error => Failure::new(&error, hint),
    }
}
