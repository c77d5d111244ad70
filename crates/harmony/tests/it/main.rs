//! Tests of the crate from outside.
#![allow(clippy::unwrap_used)]

mod bass;
mod keys;
mod kicks;
mod stream;
mod synth;
