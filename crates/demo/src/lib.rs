//! An invented session and its reference, made from a seed.
//!
//! [`compose`] writes two songs of one style as notes, [`synthesise`] renders a part
//! of one, [`make`] gives a whole session in memory and [`generate`] puts one into a
//! folder: exported tracks with honest mistakes, a rough mix, a mastered reference
//! and `truth.json`, which says what is true of them.
//!
//! [`make_mix`] and [`generate_mix`] make one mix without its tracks, quickly.
//!
//! The intended balance is a base table of the style plus a draw; the reference is
//! built with the same draw. Same settings, same bits, with any number of threads
//! and on every machine: chance comes from the seed, and functions beyond
//! arithmetic from `libm`.

mod arrangement;
mod balance;
mod clock;
mod error;
mod faults;
mod form;
mod harmony;
mod layer_truth;
mod loudness;
mod master;
mod patterns;
mod piece;
mod record;
mod rng;
mod role;
mod samples;
mod score;
mod session;
mod settings;
mod song;
mod song_truth;
mod sound;
mod spectrum;
mod style;
mod sums;
mod truth;
mod write;

pub use error::DemoError;
pub use form::SectionKind;
pub use piece::{Piece, generate_mix, make_mix};
pub use record::Record;
pub use role::Role;
pub use samples::Samples;
pub use session::{Progress, Session, Track, make, make_reference};
pub use settings::{Arrangement, DemoSettings, FaultPlan, Key, Mode, Patterns, Style};
pub use song::{Composition, Part, Song, compose, synthesise};
pub use truth::{
    BarTruth, BounceTruth, FaultTruth, LayerTruth, MixTruth, PieceTruth, ReferenceTruth,
    SectionTruth, TrackTruth, Truth,
};
pub use write::{BOUNCE, DemoMade, MARKER, MIX, REFERENCE, generate};
