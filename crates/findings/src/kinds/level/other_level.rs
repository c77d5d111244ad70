//! Another element is too loud or too soft.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};

use super::off_level;

pub(crate) const KIND: Kind = Kind {
    name: "other-level",
    family: Family::Level,
    title: "an element around the core is too loud or too soft",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 4.0, 6.0),
    weight: 0.6,
    brings: &["dull", "hidden", "crowded-top", "mud"],
    unsure: true,
    measures: "The level of pads, chords, percussion and effects against the kick, beside the \
               reference in its busiest passage and beside what is usual for the role; the \
               smaller of both deviations counts.",
    matters: "What surrounds the core gives the track its size. Too loud it covers the core, too \
              soft the track stays small.",
    threshold: "Look from 4 dB, mend from 6 dB (common practice, no source): tastes differ more \
                here than in the core.",
    mend: "Settle the core first; then move this fader by the amount named.",
    wrong: "When the reference has another arrangement, or when a sound is an effect that is \
            meant to jump out.",
    hear: "Mute the element and bring it back: the track should change by as much as it does in \
           the reference when its counterpart enters.",
    train: "Mute one pad or percussion track at a time in a finished mix and say what went \
            missing before you look.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    off_level::find(&KIND, evidence, false)
}
