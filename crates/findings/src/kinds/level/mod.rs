//! Levels of tracks and mix.

mod bounce_limited;
mod core_level;
mod kick_off_anchor;
mod off_level;
mod other_level;
mod premaster_peak;
mod starved_or_hot;
mod true_peak_over;
mod unequal_loudness;

use crate::catalogue::Entry;

macro_rules! entries {
    ($($name:ident),+ $(,)?) => {
        &[$(Entry { kind: &$name::KIND, find: $name::find }),+]
    };
}

pub(crate) const ENTRIES: &[Entry] = entries![
    kick_off_anchor,
    core_level,
    other_level,
    premaster_peak,
    true_peak_over,
    bounce_limited,
    starved_or_hot,
    unequal_loudness,
];
