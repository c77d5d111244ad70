//! The session file from outside: text in, text out, files on disk.

// Helpers of tests stop a test as tests do.
#![allow(clippy::unwrap_used)]

mod adopt;
mod disk;
mod docs;
mod edits;
mod errors;
mod example;
mod lock;
mod merge;
mod properties;
mod replace;
