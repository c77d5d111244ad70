//! Findings of this family.

mod flattened;
mod no_lift;
#[cfg(test)]
mod no_lift_tests;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &flattened::KIND,
        find: flattened::find,
    },
    Entry {
        kind: &no_lift::KIND,
        find: no_lift::find,
    },
];
