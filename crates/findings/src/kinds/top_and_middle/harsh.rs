//! Too much between 2 and 5 kHz.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::top_and_middle::beside::{TooMuch, too_much};

pub(crate) const KIND: Kind = Kind {
    name: "harsh",
    family: Family::TopAndMiddle,
    title: "harsh upper middle",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.5,
    brings: &[],
    unsure: false,
    measures: "The power between 2 and 5 kHz in the busiest passage, against the reference at \
               the same loudness, and the tracks that fill it.",
    matters: "The ear is most sensitive between 2 and 5 kHz. Too much there tires within minutes \
              and makes everybody turn down; in one study the octave about 4 kHz was the only \
              one whose energy spoke against a mix.",
    threshold: "Look beyond 3 dB or the spread between the reference's own loud sections, \
                whichever is larger; mend beyond twice that. The 4 kHz octave: De Man and \
                others, AES 2015; the zone and limits are common practice, no source.",
    mend: "Take off what was added there first: boosts, drive, exciters. Then lower the loudest \
           of its tracks or choose a softer sound; cut only what is left.",
    wrong: "When the reference is darker on purpose, or when the lead of the session lives there \
            and that of the reference does not.",
    hear: "The mix through a band of 2 to 5 kHz at low volume, then the reference: one of them \
           pricks.",
    train: "Raise 2 to 5 kHz by 3 and 6 dB on a known record without looking, and say whether it \
            is in.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let asked = TooMuch {
        kind: &KIND,
        band_hz: (2000.0, 5000.0),
        what: "between 2 and 5 kHz, where it gets harsh,",
        hear: "The mix through 2 to 5 kHz, softly, then the reference: one of them pricks.",
    };
    too_much(evidence, &asked)
}
