//! Exit codes; the help text of every command lists them.

use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    /// All was done.
    Done = 0,
    /// The command could not be done.
    Failed = 1,
    /// What was typed makes no sense.
    Usage = 2,
    /// Done, but for files that could not be used.
    Partly = 3,
    /// The tracks do not add up: the balance cannot be judged.
    CannotJudge = 4,
    /// Interrupted.
    Interrupted = 130,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit as u8)
    }
}

/// The part of every help text that says what the exit codes mean.
pub(crate) const CODES: &str = "\
Exit codes: 0 done; 1 could not be done; 2 wrong use; 3 done, but for files
that could not be used; 4 the tracks do not add up, so that the balance cannot
be judged; 130 interrupted.";
