//! Which name a found section gets.

use crate::form::SectionName;
use crate::semi_markov::Run;

/// Names in the order of the weights.
const NAMES: [SectionName; 5] = [
    SectionName::Intro,
    SectionName::Build,
    SectionName::Drop,
    SectionName::Break,
    SectionName::Outro,
];

/// The name of a section's kind.
pub(crate) fn name(run: Run) -> SectionName {
    NAMES[run.kind.min(NAMES.len() - 1)]
}
