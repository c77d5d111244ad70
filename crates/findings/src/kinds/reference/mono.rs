//! The reference is mono.

use cupel_measure::Summary;

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "reference-mono",
    family: Family::Reference,
    title: "the reference is mono",
    cause: Cause::Reference,
    sizes: Sizes::mend("", 1.0),
    weight: 0.5,
    brings: &["width-band"],
    unsure: false,
    measures: "Whether left and right of the reference are the same, or one of them is silent, \
               while the session is stereo.",
    matters: "A mono reference says nothing about width, pan and room, and in mono everything \
              stands nearer together: a balance copied from it is wrong in stereo.",
    threshold: "Yes or no: one channel, or what differs between the sides lies 50 dB or more \
                below what they share (common practice, no source).",
    mend: "Get the stereo release, or choose another reference.",
    wrong: "When an old recording was never stereo, and that is what you are after.",
    hear: "Listen to the difference of left and right of the reference: it is silent.",
    train: "Fold a song you know to mono and back: listen to which elements come nearer.",
};

/// Sides this far below the middle are none, dB.
const NO_SIDE_DB: f64 = -50.0;
/// A channel this far below the other is silent, dB.
const ONE_SIDED_DB: f64 = 50.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let (Some(mix), Some(reference)) = (&evidence.mix, &evidence.reference) else {
        return Vec::new();
    };
    let file = &reference.file.summary;
    let silent = file.integrated_lufs.is_none();
    if silent || is_mono(&mix.summary) || !(is_mono(file) || one_sided(file)) {
        return Vec::new();
    }
    let words = if one_sided(file) {
        "The reference plays on one side only, while the session is stereo."
    } else {
        "The reference is mono, while the session is stereo: it says nothing about width and \
         pan."
    };
    vec![
        Finding::new(&KIND, Grade::Mend, 1.0, words)
            .against(0.0, "a stereo reference")
            .mend("Get the stereo release of the reference, or choose another one."),
    ]
}

fn is_mono(summary: &Summary) -> bool {
    summary.channels == 1 || summary.width_db.is_none_or(|db| db < NO_SIDE_DB)
}

fn one_sided(summary: &Summary) -> bool {
    summary.channels > 1 && summary.lean_db.is_some_and(|db| db.abs() > ONE_SIDED_DB)
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{reference, session};

    fn found(change: impl Fn(&mut Summary), mix_is_mono: bool) -> usize {
        let mut evidence = session(&[Role::Kick]);
        let mut other = reference();
        change(&mut other.file.summary);
        evidence.reference = Some(other);
        if let Some(mix) = evidence.mix.as_mut().filter(|_| mix_is_mono) {
            mix.summary.width_db = None;
        }
        find(&evidence).len()
    }

    #[test]
    fn mono_files_and_files_without_sides() {
        assert_eq!(found(|_| (), false), 0);
        assert_eq!(found(|s| s.channels = 1, false), 1);
        assert_eq!(found(|s| s.width_db = None, false), 1);
        assert_eq!(found(|s| s.width_db = Some(-51.0), false), 1);
        assert_eq!(found(|s| s.width_db = Some(-49.0), false), 0);
        assert_eq!(found(|s| s.lean_db = Some(-100.0), false), 1);
    }

    #[test]
    fn a_mono_session_needs_no_stereo_reference() {
        assert_eq!(found(|s| s.channels = 1, true), 0);
    }
}
