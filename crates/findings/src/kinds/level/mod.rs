//! Levels of tracks and mix.

mod kick_off_anchor;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[Entry {
    kind: &kick_off_anchor::KIND,
    find: kick_off_anchor::find,
}];
