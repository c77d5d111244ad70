//! Tests of the crate from outside.
#![allow(clippy::unwrap_used)]

mod stream;
mod synth;
