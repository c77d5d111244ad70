//! What can be wrong with a session file, and how to mend it.

use std::io;

use crate::FORMAT;

/// Why a session cannot be read or written.
///
/// Files are named by their last part, never by a full path.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SessionError {
    /// Something in the text is not allowed.
    #[error("cannot use `{file}`, line {line}: {problem}")]
    Content {
        /// Name of the file.
        file: String,
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What is wrong there.
        problem: Box<Problem>,
    },
    /// The file was written by a later version; it is left untouched.
    #[error(
        "cannot use `{file}`, line {line}: `format` is {format}, written by {written_by}; this is \
         cupel {}, which reads `format` {FORMAT}: use the newer version; the file is left untouched",
        env!("CARGO_PKG_VERSION")
    )]
    Newer {
        /// Name of the file.
        file: String,
        /// Line of the key, from 1.
        line: usize,
        /// The format it has.
        format: i64,
        /// The version that wrote it, or `a newer version`.
        written_by: String,
    },
    /// There is nothing in the file.
    #[error(
        "cannot use `{file}`: it is empty; put the earlier text back, or remove it and run `cupel open`"
    )]
    Empty {
        /// Name of the file.
        file: String,
    },
    /// The bytes are no text.
    #[error("cannot use `{file}`, line {line}: it is not UTF-8 text; save it as UTF-8")]
    NotText {
        /// Name of the file.
        file: String,
        /// Line of the first wrong byte, from 1.
        line: usize,
    },
    /// The file could not be read.
    #[error("cannot read `{file}`: {source}")]
    Read {
        /// Name of the file.
        file: String,
        /// What the system said.
        source: io::Error,
    },
    /// The file could not be written; the old one is as it was.
    #[error("cannot write `{file}`: {source}; the file is as it was")]
    Write {
        /// Name of the file.
        file: String,
        /// What the system said.
        source: io::Error,
    },
    /// Someone else wrote the file after it was read; nothing was written.
    #[error(
        "cannot write `{file}`: it was changed meanwhile; nothing was written, run the command again"
    )]
    ChangedMeanwhile {
        /// Name of the file.
        file: String,
    },
    /// Another command holds the session.
    #[error("cannot use `{file}`: another cupel command is at work on it; wait until it ends")]
    InUse {
        /// Name of the session file.
        file: String,
    },
    /// The lock could not be made.
    #[error("cannot lock `{file}`: {source}")]
    Lock {
        /// Name of the session file.
        file: String,
        /// What the system said.
        source: io::Error,
    },
}

/// What is wrong with a place in the text.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Problem {
    /// Not TOML.
    #[error("not valid TOML: {message}")]
    Syntax {
        /// What the TOML reader said.
        message: String,
    },
    /// The same key twice in one table.
    #[error("`{key}` is given twice: keep one of them")]
    KeyTwice {
        /// The key.
        key: String,
    },
    /// A key that means nothing here.
    #[error(
        "unknown key `{key}` in {place}: {}allowed {}",
        did_you_mean(suggestion),
        listed(allowed)
    )]
    UnknownKey {
        /// The key.
        key: String,
        /// Where it stands.
        place: String,
        /// The allowed key that is nearest.
        suggestion: Option<String>,
        /// All allowed keys.
        allowed: Vec<String>,
    },
    /// A key that must be there is not.
    #[error("`{key}` is missing in {place}: write for example `{example}`")]
    Missing {
        /// The key.
        key: String,
        /// Where it should stand.
        place: String,
        /// A line that would do.
        example: String,
    },
    /// A value of another type.
    #[error("`{key}` is {given}: it must be {wanted}")]
    WrongType {
        /// The key.
        key: String,
        /// The type it has.
        given: String,
        /// The type it must have.
        wanted: String,
    },
    /// A number that is too small, too large or none.
    #[error("`{key}` is {given}: {}", range(*low, *high))]
    OutOfRange {
        /// The key.
        key: String,
        /// Its value.
        given: f64,
        /// Smallest allowed value.
        low: f64,
        /// Largest allowed value.
        high: f64,
    },
    /// A value that is not in the list.
    #[error(
        "`{key}` is {given}: {}allowed {}",
        did_you_mean(suggestion),
        listed(allowed)
    )]
    NotAllowed {
        /// The key.
        key: String,
        /// Its value, quoted if a word.
        given: String,
        /// The allowed value that is nearest.
        suggestion: Option<String>,
        /// All allowed values.
        allowed: Vec<String>,
    },
    /// A target that is not there, or not for this kind of move.
    #[error(
        "`target` is `{given}`: {}allowed for `{kind}` {}",
        did_you_mean(suggestion),
        listed(allowed)
    )]
    BadTarget {
        /// The target.
        given: String,
        /// The kind of the move.
        kind: &'static str,
        /// The allowed target that is nearest.
        suggestion: Option<String>,
        /// All allowed targets.
        allowed: Vec<String>,
    },
    /// A text that must not be empty is.
    #[error("`{key}` is empty: write something, or remove the line")]
    EmptyText {
        /// The key.
        key: String,
    },
    /// An id with characters that are kept for other things.
    #[error(
        "`id` is `{given}`: allowed are letters, digits, `-` and `_`, but not the words `all`, `mix`"
    )]
    BadId {
        /// The id.
        given: String,
    },
    /// Two tracks or two moves of one id.
    #[error(
        "the id `{id}` is given twice, first in line {first_line}: give one of them another id"
    )]
    IdTwice {
        /// The id.
        id: String,
        /// Line where it stands first.
        first_line: usize,
    },
    /// Two tracks of one file.
    #[error(
        "the file `{file}` is given twice, first in line {first_line}: remove one of the tracks"
    )]
    FileTwice {
        /// The file.
        file: String,
        /// Line where it stands first.
        first_line: usize,
    },
    /// A track's file that is not relative.
    #[error("`file` is `{given}`: it must be relative to the session's folder, with `/`")]
    NotRelative {
        /// The path.
        given: String,
    },
    /// A passage that ends before it starts.
    #[error("`end_s` is {end_s}: it must be later than `start_s`, which is {start_s}")]
    PassageEnd {
        /// Where it starts.
        start_s: f64,
        /// Where it ends.
        end_s: f64,
    },
    /// Both keys of a delay, or none.
    #[error("`parameters` of an offset has {given}: write one of `delay_ms`, `delay_samples`")]
    DelayKeys {
        /// `both` or `neither`.
        given: &'static str,
    },
    /// Places that are neither sections nor breakpoints.
    #[error(
        "`at` is {given}: write sections, such as `[\"drop\"]`, or breakpoints, such as \
         `[{{ time_s = 12.0, gain_db = -2.0 }}]`"
    )]
    BadPlaces {
        /// What it is.
        given: &'static str,
    },
    /// Places on a move that cannot have them.
    #[error("a `{kind}` cannot have {given} in `at`: {mend}")]
    PlacesNotForKind {
        /// The kind of the move.
        kind: &'static str,
        /// `sections` or `breakpoints`.
        given: &'static str,
        /// What to do instead.
        mend: &'static str,
    },
    /// Breakpoints that are not in order.
    #[error(
        "`time_s` is {time_s}: breakpoints come in order of time, the one before is at {before_s}"
    )]
    BreakpointOrder {
        /// Its time.
        time_s: f64,
        /// The time of the one before.
        before_s: f64,
    },
}

/// ``did you mean `x`? `` or nothing.
fn did_you_mean(suggestion: &Option<String>) -> String {
    suggestion
        .as_ref()
        .map_or_else(String::new, |word| format!("did you mean `{word}`? "))
}

/// How many allowed words a message names.
const LISTED: usize = 40;

/// `is` or `are`, and the words in backticks, at most [`LISTED`].
fn listed(words: &[String]) -> String {
    let quoted: Vec<String> = words
        .iter()
        .take(LISTED)
        .map(|word| format!("`{word}`"))
        .collect();
    let more = match words.len().saturating_sub(LISTED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    match words.len() {
        0 => "is none".into(),
        1 => format!("is {}", quoted[0]),
        _ => format!("are {}{more}", quoted.join(", ")),
    }
}

/// The limits of a number in words.
fn range(low: f64, high: f64) -> String {
    if low == high {
        return format!("allowed is {low}");
    }
    format!("allowed are {low} to {high}")
}
