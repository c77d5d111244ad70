//! The functions a WebAssembly build is called by: one engine a module, numbers in and
//! out, memory by address. Nothing is imported.

// Names that are exported are the only unsafe thing here.
#![allow(unsafe_code)]

use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::{BLOCK_FRAMES, Engine, LEAD_FRAMES, MixSettings, PIECE_FRAMES, Reach, piece};

/// Most numbers of one version's settings.
const MOST_NUMBERS: usize = 1 << 16;

struct Open {
    engine: Engine,
    numbers: Vec<f64>,
}

static OPEN: Mutex<Option<Open>> = Mutex::new(None);

fn open() -> MutexGuard<'static, Option<Open>> {
    OPEN.lock().unwrap_or_else(PoisonError::into_inner)
}

fn with<T>(none: T, work: impl FnOnce(&mut Open) -> T) -> T {
    open().as_mut().map_or(none, work)
}

/// Opens the engine; one that was open is closed.
#[unsafe(no_mangle)]
pub extern "C" fn engine_open(tracks: u32, sample_rate_hz: f64, slots: u32, voices: u32) {
    *open() = None;
    *open() = Some(Open {
        engine: Engine::new(
            tracks as usize,
            sample_rate_hz,
            slots as usize,
            voices as usize,
        ),
        numbers: vec![0.0; MOST_NUMBERS],
    });
}

/// Frames of a piece.
#[unsafe(no_mangle)]
pub extern "C" fn engine_piece_frames() -> u32 {
    PIECE_FRAMES as u32
}

/// Frames before the session that pieces are counted from.
#[unsafe(no_mangle)]
pub extern "C" fn engine_lead_frames() -> u32 {
    LEAD_FRAMES as u32
}

/// Most frames rendered at a time.
#[unsafe(no_mangle)]
pub extern "C" fn engine_block_frames() -> u32 {
    BLOCK_FRAMES as u32
}

/// Most bytes of a piece of so many tracks.
#[unsafe(no_mangle)]
pub extern "C" fn engine_piece_bytes(tracks: u32) -> u32 {
    piece::largest_bytes(tracks as usize) as u32
}

/// Address of a slot's memory, which is emptied; 0 where there is none.
#[unsafe(no_mangle)]
pub extern "C" fn engine_slot(slot: u32) -> usize {
    with(0, |open| {
        let memory = open.engine.slot(slot as usize);
        memory.map_or(0, |bytes| bytes.as_mut_ptr() as usize)
    })
}

/// A slot has been filled with so many bytes of a piece; 1 where it is one.
#[unsafe(no_mangle)]
pub extern "C" fn engine_fill(slot: u32, index: u32, bytes: u32) -> u32 {
    with(0, |open| {
        let good = open
            .engine
            .fill(slot as usize, u64::from(index), bytes as usize);
        u32::from(good)
    })
}

/// Address for the numbers of settings.
#[unsafe(no_mangle)]
pub extern "C" fn engine_numbers() -> usize {
    with(0, |open| open.numbers.as_mut_ptr() as usize)
}

/// Most numbers of settings.
#[unsafe(no_mangle)]
pub extern "C" fn engine_most_numbers() -> u32 {
    MOST_NUMBERS as u32
}

/// Gives a voice the settings written at [`engine_numbers`]; 1 where they are good.
#[unsafe(no_mangle)]
pub extern "C" fn engine_set(voice: u32, numbers: u32) -> u32 {
    with(0, |open| {
        let given = open.numbers.get(..numbers as usize).unwrap_or(&[]);
        let set = MixSettings::decode(given)
            .is_ok_and(|settings| open.engine.set(voice as usize, &settings).is_ok());
        u32::from(set)
    })
}

/// As [`Engine::reach`]: 0 working, 1 ready, 2 missing.
#[unsafe(no_mangle)]
pub extern "C" fn engine_reach(voice: u32, frame: f64, budget: u32) -> u32 {
    with(2, |open| {
        let (voice, frame) = (voice as usize, frame.max(0.0) as u64);
        match open.engine.reach(voice, frame, u64::from(budget)) {
            Reach::Working => 0,
            Reach::Ready => 1,
            Reach::Missing => 2,
        }
    })
}

/// As [`Engine::render`].
#[unsafe(no_mangle)]
pub extern "C" fn engine_render(voice: u32, frames: u32) -> u32 {
    with(0, |open| {
        open.engine.render(voice as usize, frames as usize) as u32
    })
}

/// Address of what was rendered last: left, then right, [`engine_block_frames`] each.
#[unsafe(no_mangle)]
pub extern "C" fn engine_heard() -> usize {
    with(0, |open| open.engine.heard().as_ptr() as usize)
}
