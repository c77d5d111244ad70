//! The crate from outside, a module a topic.

// In tests a panic is the report.
#![allow(clippy::unwrap_used)]

mod aiff;
mod arbitrary;
mod formats;
mod health;
mod resampling;
mod support;
mod track;
mod wav;
mod writing;
