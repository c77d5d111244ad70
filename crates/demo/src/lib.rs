//! An invented session and its reference, made from a seed.
//!
//! [`compose`] writes two songs of one style as notes, [`synthesise`] renders a part
//! of one, [`make`] gives a whole session in memory and [`generate`] puts one into a
//! folder: exported tracks with honest mistakes, a rough mix, a mastered reference
//! and `truth.json`, which says what is true of them.
//!
//! The intended balance is a base table of the style plus a draw; the reference is
//! built with the same draw. Same settings, same bits, with any number of threads
//! and on every machine: chance comes from the seed, and functions beyond
//! arithmetic from `libm`.

mod balance;
mod error;
mod faults;
mod form;
mod harmony;
mod loudness;
mod master;
mod record;
mod rng;
mod role;
mod samples;
mod score;
mod session;
mod settings;
mod song;
mod sound;
mod style;
mod sums;
mod truth;
mod write;

pub use error::DemoError;
pub use form::SectionKind;
pub use record::Record;
pub use role::Role;
pub use samples::Samples;
pub use session::{Progress, Session, Track, make};
pub use settings::{DemoSettings, FaultPlan, Key, Mode, Style};
pub use song::{Composition, Part, Song, compose, synthesise};
pub use truth::{
    BounceTruth, FaultTruth, MixTruth, ReferenceTruth, SectionTruth, TrackTruth, Truth,
};
pub use write::{BOUNCE, DemoMade, MARKER, REFERENCE, generate};
