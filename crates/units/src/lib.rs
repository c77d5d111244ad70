//! Decibels, hertz, loudness and time: newtypes, conversions, and how people
//! read them.
//!
//! Newtypes stand at crate borders, where two numbers could be swapped unseen;
//! inner loops use plain `f64` with the unit in the name.

mod decibels;
mod frequency;
mod read;
mod role;
mod time;

pub use decibels::{
    Decibels, Lufs, amplitude_to_db, db_to_amplitude, db_to_power, power_to_db, round_to_step,
};
pub use frequency::{Hertz, hertz_to_note, note_to_hertz};
pub use read::{
    read_db, read_db_change, read_dbfs, read_dbtp, read_hertz, read_lufs, read_seconds,
};
pub use role::{Group, Role};
pub use time::{Seconds, frames_to_seconds, seconds_to_frames};
