//! Whether the reference fits.

mod age;
mod lossy;
mod mono;
mod register;
mod style;
mod tempo;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &tempo::KIND,
        find: tempo::find,
    },
    Entry {
        kind: &register::KIND,
        find: register::find,
    },
    Entry {
        kind: &style::KIND,
        find: style::find,
    },
    Entry {
        kind: &age::KIND,
        find: age::find,
    },
    Entry {
        kind: &lossy::KIND,
        find: lossy::find,
    },
    Entry {
        kind: &mono::KIND,
        find: mono::find,
    },
];
