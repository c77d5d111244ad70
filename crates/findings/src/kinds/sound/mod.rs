//! The sounds themselves.

mod kick_long;
mod kick_pitch;
mod kick_unlike;
mod one_place;
mod unmended;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &kick_pitch::KIND,
        find: kick_pitch::find,
    },
    Entry {
        kind: &kick_long::KIND,
        find: kick_long::find,
    },
    Entry {
        kind: &kick_unlike::KIND,
        find: kick_unlike::find,
    },
    Entry {
        kind: &one_place::KIND,
        find: one_place::find,
    },
    Entry {
        kind: &unmended::KIND,
        find: unmended::find,
    },
];
