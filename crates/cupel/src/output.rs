//! Results to standard output, talk to standard error.

use std::error::Error;
use std::io::Write;

use cupel_work::WorkError;
use serde::Serialize;

use crate::exit::Exit;
use crate::json::VERSION;
use crate::json::formatter::Lines;

/// A command that could not be done.
#[derive(Debug)]
pub(crate) struct Failure {
    /// What to print.
    pub message: String,
    /// How to mend it.
    pub hint: Option<String>,
    /// The exit code.
    pub exit: Exit,
}

impl Failure {
    pub(crate) fn new(error: &dyn Error, hint: Option<String>) -> Self {
        Self {
            message: chain(error),
            hint,
            exit: Exit::Failed,
        }
    }

    /// A failure in words.
    pub(crate) fn said(message: String, hint: Option<String>) -> Self {
        Self {
            message,
            hint,
            exit: Exit::Failed,
        }
    }
}

impl From<WorkError> for Failure {
    fn from(error: WorkError) -> Self {
        let exit = match error {
            WorkError::CannotJudge { .. } => Exit::CannotJudge,
            _ => Exit::Failed,
        };
        Self {
            exit,
            ..Self::new(&error, error.hint())
        }
    }
}

/// An error with its causes, each that says something new, on one line.
fn chain(error: &dyn Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        let words = cause.to_string();
        if !text.contains(&words) {
            text = format!("{text}: {words}");
        }
        source = cause.source();
    }
    text
}

/// Prints a failure with its mend; where JSON was asked for, as a document too.
pub(crate) fn print_failure(failure: &Failure, json: bool) {
    eprintln!("error: {}", failure.message);
    if let Some(hint) = &failure.hint {
        eprintln!("hint: {hint}");
    }
    if json {
        let document = FailureDocument {
            schema: "cupel/failure",
            version: VERSION,
            error: &failure.message,
            hint: failure.hint.as_deref(),
        };
        // What cannot be printed has been said above.
        let _ = print_json(&document);
    }
}

/// What `--json` prints of a command that could not be done.
#[derive(Debug, Serialize)]
struct FailureDocument<'a> {
    schema: &'static str,
    version: u32,
    error: &'a str,
    hint: Option<&'a str>,
}

/// Prints a document as JSON, alone on standard output.
pub(crate) fn print_json<T: Serialize>(document: &T) -> Result<(), Failure> {
    let mut text = Vec::new();
    let mut serializer = serde_json::Serializer::with_formatter(&mut text, Lines::default());
    document
        .serialize(&mut serializer)
        .map_err(|error| Failure::new(&error, None))?;
    print_text(&String::from_utf8_lossy(&text))
}

/// Prints text on standard output; a reader that went away is no failure.
pub(crate) fn print_text(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{}", text.trim_end()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::new(&error, None))
        }
        _ => Ok(()),
    }
}
