//! Findings of this family.

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[];
