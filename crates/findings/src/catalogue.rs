//! All kinds of findings.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::Kind;
use crate::kinds;

/// A kind with what finds it.
pub(crate) struct Entry {
    pub(crate) kind: &'static Kind,
    pub(crate) find: fn(&Evidence) -> Vec<Finding>,
}

/// By family, each in the order it is listed to people.
pub(crate) static FAMILIES: [&[Entry]; 11] = [
    kinds::files::ENTRIES,
    kinds::level::ENTRIES,
    kinds::reference::ENTRIES,
    kinds::sound::ENTRIES,
    kinds::low_end::ENTRIES,
    kinds::stereo::ENTRIES,
    kinds::top_and_middle::ENTRIES,
    kinds::masking::ENTRIES,
    kinds::dynamics::ENTRIES,
    kinds::translation::ENTRIES,
    kinds::space::ENTRIES,
];

/// Every kind with what finds it.
pub(crate) fn entries() -> impl Iterator<Item = &'static Entry> {
    FAMILIES.iter().flat_map(|family| family.iter())
}

/// Every kind, by family.
pub fn all_kinds() -> impl Iterator<Item = &'static Kind> {
    entries().map(|entry| entry.kind)
}

/// The kind of a name.
pub fn kind_named(name: &str) -> Option<&'static Kind> {
    all_kinds().find(|kind| kind.name == name)
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn names_are_their_own_and_every_heading_is_filled() {
        let mut seen = HashSet::new();
        for kind in all_kinds() {
            assert!(seen.insert(kind.name), "{} twice", kind.name);
            let plain = |c: char| c.is_ascii_lowercase() || c == '-';
            assert!(kind.name.chars().all(plain), "{}", kind.name);
            let headings = [
                kind.measures,
                kind.matters,
                kind.threshold,
                kind.mend,
                kind.wrong,
                kind.hear,
                kind.train,
            ];
            for text in headings {
                let words = text.split_whitespace().count();
                assert!((4..=90).contains(&words), "{}: {text}", kind.name);
                assert!(text.ends_with('.'), "{}: {text}", kind.name);
            }
        }
    }

    #[test]
    fn what_a_kind_brings_is_known_and_never_brings_it_back() {
        for kind in all_kinds() {
            for name in kind.brings {
                assert!(kind_named(name).is_some(), "{} brings {name}", kind.name);
            }
            let mut reached: Vec<&str> = kind.brings.to_vec();
            let mut at = 0;
            while at < reached.len() {
                assert_ne!(reached[at], kind.name, "{} brings itself", kind.name);
                for next in kind_named(reached[at]).map_or(&[][..], |kind| kind.brings) {
                    if !reached.contains(next) {
                        reached.push(next);
                    }
                }
                at += 1;
            }
        }
    }
}
