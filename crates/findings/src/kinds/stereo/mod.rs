//! Left, right and the sides.

mod element_lean;
mod leaning;
mod lopsided_pair;
mod mix_lean;
mod mono_loss;
mod mono_loss_band;
mod negative_correlation;
#[cfg(test)]
mod tests;
mod width_band;

use crate::catalogue::Entry;

pub(crate) const ENTRIES: &[Entry] = &[
    Entry {
        kind: &element_lean::KIND,
        find: element_lean::find,
    },
    Entry {
        kind: &mix_lean::KIND,
        find: mix_lean::find,
    },
    Entry {
        kind: &lopsided_pair::KIND,
        find: lopsided_pair::find,
    },
    Entry {
        kind: &width_band::KIND,
        find: width_band::find,
    },
    Entry {
        kind: &negative_correlation::KIND,
        find: negative_correlation::find,
    },
    Entry {
        kind: &mono_loss::KIND,
        find: mono_loss::find,
    },
    Entry {
        kind: &mono_loss_band::KIND,
        find: mono_loss_band::find,
    },
];
