//! Too much between 200 and 500 Hz.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::top_and_middle::beside::{TooMuch, too_much};

pub(crate) const KIND: Kind = Kind {
    name: "mud",
    family: Family::TopAndMiddle,
    title: "mud in the lower middle",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.5,
    brings: &["dull"],
    unsure: false,
    measures: "The power between 200 and 500 Hz in the busiest passage, against the reference at \
               the same loudness, and the tracks that fill it.",
    matters: "Almost every sound has something between 200 and 500 Hz. What piles up there \
              covers the bass line and the voice, and the mix sounds as through a blanket.",
    threshold: "Look beyond 3 dB or the spread between the reference's own loud sections, \
                whichever is larger; mend beyond twice that (zone and limits: common practice, \
                no source).",
    mend: "Take off what was added there first: boosts, rooms, drive. Then lower or thin out \
           what nobody misses, pads and doubles; cut only what is left.",
    wrong: "When a warm sound there is the point of the track, or when the reference has nothing \
            but drums in its passage.",
    hear: "The mix through a band of 200 to 500 Hz, then the reference: one of them is crowded.",
    train: "Raise 200 to 500 Hz by 3 and 6 dB on a known record without looking, and say whether \
            it is in.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let asked = TooMuch {
        kind: &KIND,
        band_hz: (200.0, 500.0),
        what: "between 200 and 500 Hz, where mud gathers,",
        hear: "The mix through 200 to 500 Hz, then the reference: one of them is crowded.",
    };
    too_much(evidence, &asked)
}
