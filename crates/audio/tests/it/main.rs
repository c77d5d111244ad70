//! The crate from outside, a module a topic.

mod aiff;
mod arbitrary;
mod formats;
mod health;
mod resampling;
mod support;
mod track;
mod wav;
mod writing;
