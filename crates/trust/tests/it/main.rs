//! Whole judgements, on synthetic sessions and on real ones.

mod music;
mod sessions;
mod support;
mod synthetic;
