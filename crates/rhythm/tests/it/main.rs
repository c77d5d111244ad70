//! Tests of `cupel-rhythm` on patterns made here: every expected number is one
//! the pattern was made with.

mod drums;
mod grid;
mod limits;
mod store;
