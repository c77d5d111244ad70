//! A core element is too loud or too soft.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};

use super::off_level;

pub(crate) const KIND: Kind = Kind {
    name: "core-level",
    family: Family::Level,
    title: "a core element is too loud or too soft",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 2.0, 4.0),
    weight: 0.9,
    brings: &[
        "dull",
        "hidden",
        "crowded-top",
        "bass-lows",
        "small-speaker",
        "phone",
    ],
    unsure: true,
    measures: "The level of bass, snare and clap, hats, lead and voice against the kick, beside \
               the reference in its busiest passage and beside what is usual for the role; the \
               smaller of both deviations counts. Where most tracks stand too loud beside the \
               kick, or most too soft, the kick itself is off, and the others are told beside \
               where it should be.",
    matters: "A handful of elements carries the track. Where one of them is off, people turn \
              knobs on all the others.",
    threshold: "Look from 2 dB, mend from 4 dB (common practice, no source). Usual levels are \
                weak beliefs: engineers differ by 2 to 6 LU on one element (De Man and others, \
                2014).",
    mend: "Move that one fader by the amount named, against the kick, and listen again before \
           anything else.",
    wrong: "When the reference has another arrangement, or when the element is meant to stand \
            out or to hide.",
    hear: "Switch between mix and reference at equal loudness and follow only this element: say whether \
           it is nearer or further away than there.",
    train: "Take a mix you know, have someone move one fader by 4 dB, and name which one and \
            which way; then 3 dB, then 2.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let mut found = off_level::find(&KIND, evidence, true);
    found.extend(off_level::right(&KIND, evidence, true));
    found
}
