//! Kick, bass and what lies below them.

mod bass_lows;
mod beside_reference;
mod kick_bass_cancel;
mod kick_bass_overlap;
mod kick_lows;
pub(crate) mod lows;
mod lows_off_centre;
mod rumble;
#[cfg(test)]
pub(crate) mod trial;
mod wide_lows;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &kick_lows::KIND,
        find: kick_lows::find,
    },
    Entry {
        kind: &bass_lows::KIND,
        find: bass_lows::find,
    },
    Entry {
        kind: &kick_bass_overlap::KIND,
        find: kick_bass_overlap::find,
    },
    Entry {
        kind: &kick_bass_cancel::KIND,
        find: kick_bass_cancel::find,
    },
    Entry {
        kind: &wide_lows::KIND,
        find: wide_lows::find,
    },
    Entry {
        kind: &lows_off_centre::KIND,
        find: lows_off_centre::find,
    },
    Entry {
        kind: &rumble::KIND,
        find: rumble::find,
    },
];
