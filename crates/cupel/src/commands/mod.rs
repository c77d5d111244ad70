//! One file a command.

mod assay;
mod balance;
mod cache;
mod demo;
mod explain;
mod listen;
mod loop_reference;
mod measure;
mod next;
mod open;
mod render;
mod report;

use std::path::Path;

use cupel_store::Store;
use cupel_work::{Context, OpenOptions, Place, Problem};

use crate::args::{Args, Command, Common, Stage};
use crate::exit::Exit;
use crate::output::Failure;
use crate::progress::Progress;

/// Runs what was typed.
pub(crate) fn run(args: &Args) -> Result<Exit, Failure> {
    let common = &args.common;
    let Some(command) = &args.command else {
        return next::run(common);
    };
    match command {
        Command::Measure { files, tempo } => measure::run(files, tempo.tempo_range, common),
        Command::Open {
            audio,
            reference,
            rough,
            session,
            tempo,
        } => open::run(
            audio,
            OpenOptions {
                reference: reference.clone(),
                rough: rough.clone(),
                session_file: session.clone(),
                tempo_range: tempo.tempo_range,
            },
            common,
        ),
        Command::Assay { session, evidence } => {
            assay::run(session.path.as_deref(), evidence.as_deref(), common)
        }
        Command::Listen { session, port } => listen::run(session.path.as_deref(), *port, common),
        Command::Explain { name } => explain::run(name.as_deref(), common),
        Command::Balance {
            session,
            all,
            exact,
            anyway,
            no_usual,
            skip,
        } => {
            let options = cupel_work::BalanceOptions {
                all: *all,
                exact: *exact,
                anyway: *anyway,
                stages: Stage::all_but(skip),
                no_usual: *no_usual,
            };
            balance::run(session.path.as_deref(), options, common)
        }
        Command::Render { session, format } => {
            render::run(session.path.as_deref(), *format, common)
        }
        Command::Report { session } => report::run(session.path.as_deref(), common),
        Command::Loop { session, key } => {
            loop_reference::run(session.path.as_deref(), key.is_some(), common)
        }
        Command::Demo { folder, seed, make } => demo::run(folder, *seed, make, common),
        Command::Cache { clear } => cache::run(*clear, common),
    }
}

/// Opens the store and runs `work` with a progress bar; keeps the store within
/// its limit afterwards.
fn with_context<T>(
    common: &Common,
    work: impl FnOnce(&Context<'_>) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let store = open_store(common)?;
    let progress = Progress::new();
    let show = |part: f64, what: &str| progress.show(part, what);
    let result = work(&Context {
        store: &store,
        progress: &show,
    });
    drop(progress);
    if let Err(error) = store.tidy() {
        eprintln!("warning: {error}");
    }
    result
}

/// The store that was asked for; where the platform's own cannot be used, one
/// in the folder for temporary files, which works as well but may be emptied.
fn open_store(common: &Common) -> Result<Store, Failure> {
    Store::open(common.cache.as_deref()).or_else(|error| match common.cache {
        Some(_) => Err(Failure::new(
            &error,
            Some("name a folder that can be written".into()),
        )),
        None => {
            eprintln!("warning: {error}; using the folder for temporary files");
            let folder = std::env::temp_dir().join("cupel-cache");
            Store::open(Some(&folder)).map_err(|error| Failure::new(&error, None))
        }
    })
}

fn place(given: Option<&Path>) -> Result<Place, Failure> {
    Ok(Place::of(given)?)
}

/// Says which files could not be used; the exit code that goes with it.
fn report_problems(problems: &[Problem]) -> Exit {
    for problem in problems {
        eprintln!("error: {}", problem.error);
        if let Some(hint) = &problem.hint {
            eprintln!("hint: {hint}");
        }
    }
    if problems.is_empty() {
        Exit::Done
    } else {
        Exit::Partly
    }
}
