//! What holds for every render.

// A test that cannot go on should stop where it is.
#![allow(clippy::unwrap_used)]

mod support;

mod folder;
mod pair;
mod pass;
mod written;
