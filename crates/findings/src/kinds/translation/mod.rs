//! Other loudspeakers.

mod club_lows;
mod phone;
mod small_speaker;
#[cfg(test)]
mod tests;
mod through;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &small_speaker::KIND,
        find: small_speaker::find,
    },
    Entry {
        kind: &phone::KIND,
        find: phone::find,
    },
    Entry {
        kind: &club_lows::KIND,
        find: club_lows::find,
    },
];
