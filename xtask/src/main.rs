//! Jobs around the project: `cargo xtask bench` and `cargo xtask licences`.

mod bench;
mod error;
mod licences;

use std::process::ExitCode;

use clap::Parser;

/// Jobs around the project.
#[derive(Debug, Parser)]
#[command(name = "cargo xtask")]
enum Task {
    /// Compare speed and memory with public tools, paired in one run.
    Bench(bench::Options),
    /// Write THIRD-PARTY.md, or check that it is up to date.
    Licences(licences::Options),
}

fn main() -> ExitCode {
    let done = match Task::parse() {
        Task::Bench(options) => bench::run(&options),
        Task::Licences(options) => licences::run(&options),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::FAILURE
        }
    }
}
