//! Findings on the room.

mod no_room;
mod other_room;
mod room_long;
mod room_loud;
mod room_lows;
mod rooms;
#[cfg(test)]
mod tests;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &no_room::KIND,
        find: no_room::find,
    },
    Entry {
        kind: &room_long::KIND,
        find: room_long::find,
    },
    Entry {
        kind: &room_loud::KIND,
        find: room_loud::find,
    },
    Entry {
        kind: &room_lows::KIND,
        find: room_lows::find,
    },
    Entry {
        kind: &other_room::KIND,
        find: other_room::find,
    },
];
