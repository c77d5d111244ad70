//! Traits of sounds whose truth is known in closed form.
#![allow(clippy::unwrap_used)]

mod clicks;
mod crest;
mod decay;
mod hum;
mod offset;
mod sound;
mod stream;
