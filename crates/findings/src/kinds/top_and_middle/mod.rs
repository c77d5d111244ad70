//! The middle and the top end.

mod beside;
mod crowded_top;
mod dull;
mod harsh;
mod mud;
mod sibilance;
#[cfg(test)]
mod tests;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &crowded_top::KIND,
        find: crowded_top::find,
    },
    Entry {
        kind: &harsh::KIND,
        find: harsh::find,
    },
    Entry {
        kind: &mud::KIND,
        find: mud::find,
    },
    Entry {
        kind: &sibilance::KIND,
        find: sibilance::find,
    },
    Entry {
        kind: &dull::KIND,
        find: dull::find,
    },
];
