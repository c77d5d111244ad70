//! The live engine of the listening page: the sound of many tracks through the strips
//! and mixers of several versions of one mix, block by block.
//!
//! It has the processors of `cupel-process` and none of its own, so that what is heard
//! is what is rendered, bit for bit. Built for WebAssembly (`cargo xtask engine`) it
//! runs in the page's `AudioWorklet` and imports nothing; the functions it is called
//! by are in `abi.rs`.
//!
//! - [`piece`]: sound comes in pieces of all tracks, as short as exact samples allow,
//!   into a ring of slots of a few seconds.
//! - [`MixSettings`]: the strips and groups of one version, as a list of numbers.
//! - [`Engine`]: slots and voices. A voice is one version at one place; voices share
//!   the tracks' sound, so that one can be faded into another.
//!
//! Memory is taken when the engine is opened and when a voice gets other settings,
//! between blocks. Taking pieces, reaching a place and rendering neither allocate nor
//! fail.

mod abi;
mod engine;
mod layout;
pub mod piece;
mod voice;

pub use engine::{Engine, Reach};
pub use layout::{LayoutError, MixSettings, TrackSettings};

/// Frames of a piece.
pub const PIECE_FRAMES: usize = 8_192;

/// Pieces are counted from so many frames before the session's start: offsets of
/// tracks may ask for sound from there.
pub const LEAD_FRAMES: u64 = 64 * PIECE_FRAMES as u64;

/// Most frames rendered at a time.
pub const BLOCK_FRAMES: usize = 128;
