//! Findings on the exported files.

mod cut_tail;
mod dc_offset;
mod dead_channel;
mod edge_click;
mod flat_tops;
mod hum;
mod inverted_channel;
mod missing_track;
mod notes;
mod printed_limiter;
mod same_twice;
#[cfg(test)]
mod tests;
mod wrong_start;

use crate::catalogue::Entry;

macro_rules! entry {
    ($kind:ident) => {
        Entry {
            kind: &$kind::KIND,
            find: $kind::find,
        }
    };
}

pub(crate) const ENTRIES: &[Entry] = &[
    entry!(missing_track),
    entry!(wrong_start),
    entry!(same_twice),
    entry!(dead_channel),
    entry!(inverted_channel),
    entry!(printed_limiter),
    entry!(flat_tops),
    entry!(dc_offset),
    entry!(hum),
    entry!(edge_click),
    entry!(cut_tail),
];
