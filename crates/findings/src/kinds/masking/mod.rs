//! What is not heard.

mod hidden;
#[cfg(test)]
mod tests;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[Entry {
    kind: &hidden::KIND,
    find: hidden::find,
}];
