//! Faults of known size, put into clean sessions.

mod drums;
mod files;
mod level;
mod low_end;
mod reference;
mod space;
mod spectrum;
mod stereo;

use crate::faults::clean::Clean;
use crate::prove::dice::Dice;

/// A session with a fault in it.
#[derive(Clone, Debug)]
pub(crate) struct Put {
    pub session: Clean,
    /// Places of the tracks that a finding may name; empty where it is the mix.
    pub right: Vec<usize>,
    /// What was done, in words.
    pub what: String,
}

impl Put {
    pub(crate) fn new(session: Clean, right: Vec<usize>, what: impl Into<String>) -> Option<Self> {
        Some(Self {
            session,
            right,
            what: what.into(),
        })
    }
}

/// A fault that can be put in.
#[derive(Clone, Copy)]
pub(crate) struct Fault {
    /// Name of the kind that should find it.
    pub name: &'static str,
    /// Whether it comes in sizes, or is there or not.
    pub sized: bool,
    /// Whether it stays with its tracks, so that others can stand beside it.
    pub local: bool,
    /// Kinds that may truly follow from it: neither right nor wrong.
    pub also: &'static [&'static str],
    /// Puts it in at so many times its size; `None` where the session has no place.
    pub put: fn(&Clean, &mut Dice, f64) -> Option<Put>,
}

impl Fault {
    pub(crate) const fn sized(
        name: &'static str,
        also: &'static [&'static str],
        put: fn(&Clean, &mut Dice, f64) -> Option<Put>,
    ) -> Self {
        Self {
            name,
            sized: true,
            local: true,
            also,
            put,
        }
    }

    pub(crate) const fn there(
        name: &'static str,
        also: &'static [&'static str],
        put: fn(&Clean, &mut Dice, f64) -> Option<Put>,
    ) -> Self {
        Self {
            sized: false,
            ..Self::sized(name, also, put)
        }
    }

    /// It concerns everything.
    pub(crate) const fn whole(self) -> Self {
        Self {
            local: false,
            ..self
        }
    }
}

/// All faults, by family.
pub(crate) fn all() -> Vec<Fault> {
    [
        files::FAULTS,
        level::FAULTS,
        reference::FAULTS,
        drums::FAULTS,
        low_end::FAULTS,
        stereo::FAULTS,
        spectrum::FAULTS,
        space::FAULTS,
    ]
    .concat()
}

/// One of the tracks with these words that sound in the busiest section and pass.
pub(crate) fn one(
    clean: &Clean,
    words: &[&str],
    dice: &mut Dice,
    fits: impl Fn(&crate::faults::sound::Sound) -> bool,
) -> Option<usize> {
    let mut places = clean.sounding(words);
    places.retain(|&place| fits(&clean.tracks[place].sound));
    (!places.is_empty()).then(|| dice.pick(&places))
}

/// All tracks of one word among these, drawn.
pub(crate) fn element(
    clean: &Clean,
    words: &[&'static str],
    dice: &mut Dice,
) -> Option<Vec<usize>> {
    let there: Vec<&'static str> = words
        .iter()
        .copied()
        .filter(|word| !clean.sounding(&[word]).is_empty())
        .collect();
    (!there.is_empty()).then(|| clean.with_words(&[dice.pick(&there)]))
}

/// Up or down.
pub(crate) fn way(dice: &mut Dice) -> f64 {
    if dice.chance(0.5) { 1.0 } else { -1.0 }
}

pub(crate) fn names(clean: &Clean, places: &[usize]) -> String {
    let names: Vec<&str> = places
        .iter()
        .map(|&p| clean.tracks[p].name.as_str())
        .collect();
    names.join(", ")
}
