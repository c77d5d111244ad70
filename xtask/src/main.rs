//! Jobs around the project: `cargo xtask bench`, `engine`, `licences`, `prove`,
//! `prove-levels` and `prove-findings`.

mod bench;
mod engine;
mod error;
mod faults;
mod levels;
mod licences;
mod prove;

use std::process::ExitCode;

use clap::Parser;

/// Jobs around the project.
#[derive(Debug, Parser)]
#[command(name = "cargo xtask")]
enum Task {
    /// Compare speed and memory with public tools, paired in one run.
    Bench(bench::Options),
    /// Build the engine of the listening page for WebAssembly, or check the kept module.
    Engine(engine::Options),
    /// Write THIRD-PARTY.md, or check that it is up to date.
    Licences(licences::Options),
    /// Judge tempo, bars, sections, key, roles and layers on pieces of known truth.
    Prove(prove::Options),
    /// Judge the levels of the balance on sessions of known truth.
    ProveLevels(levels::Options),
    /// Judge the findings on sessions with faults put in on purpose.
    ProveFindings(faults::Options),
}

fn main() -> ExitCode {
    let done = match Task::parse() {
        Task::Bench(options) => bench::run(&options),
        Task::Engine(options) => engine::run(&options),
        Task::Licences(options) => licences::run(&options),
        Task::Prove(options) => prove::run(&options),
        Task::ProveLevels(options) => levels::run(&options),
        Task::ProveFindings(options) => faults::run(&options),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::FAILURE
        }
    }
}
