//! The command line: parses what was typed, runs a step, prints the answer.

mod args;
mod commands;
mod exit;
mod json;
mod output;
mod progress;
mod text;
mod view;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    let args = match args::Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            // Help and version are answers, everything else is a mistake in use.
            let code = if error.use_stderr() {
                exit::Exit::Usage
            } else {
                exit::Exit::Done
            };
            let _ = error.print();
            return code.into();
        }
    };
    // Interrupted writes leave nothing half-made.
    let handler = ctrlc::set_handler(|| {
        cupel_audio::remove_unfinished();
        cupel_render::remove_unfinished_renders();
        std::process::exit(exit::Exit::Interrupted as i32);
    });
    if let Err(error) = handler {
        eprintln!("warning: an interrupt may leave unfinished files behind: {error}");
    }
    match commands::run(&args) {
        Ok(exit) => exit.into(),
        Err(failure) => {
            output::print_failure(&failure, args.common.json);
            failure.exit.into()
        }
    }
}
