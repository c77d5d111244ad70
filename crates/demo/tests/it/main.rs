//! The generator as others use it.

// helpers of tests may unwrap as tests do
#![allow(clippy::unwrap_used)]

mod files;
mod levels;
mod repeatable;
mod spectrum;
mod support;
mod trials;
