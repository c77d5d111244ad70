//! Too little at the top.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::top_and_middle::beside::{beside, curves};
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "dull",
    family: Family::TopAndMiddle,
    title: "the top is missing",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.45,
    brings: &[],
    unsure: false,
    measures: "The power from 6 to 16 kHz in the busiest passage, against the reference at the \
               same loudness.",
    matters: "Without a top the mix seems to stand behind a curtain, and hits lose their \
              beginnings.",
    threshold: "Look beyond 3 dB under the reference, or the spread between its own loud \
                sections, whichever is larger; mend beyond twice that (common practice, no \
                source).",
    mend: "See first whether the hats are too soft or a sound was filtered or made dark on \
           purpose; put those right. Only then lift the top of what should be bright.",
    wrong: "When a dark sound is wanted, as in dub or lo-fi, and the reference is only bright by \
            its time.",
    hear: "The mix through everything above 6 kHz, then the reference at the same loudness.",
    train: "Lower the top of a known record by 3 and 6 dB without looking, and say whether it is \
            dull.",
};

const BAND_HZ: (f64, f64) = (6000.0, 16000.0);

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let (Some(passage), Some(beside)) = (&evidence.passage, beside(evidence, BAND_HZ)) else {
        return Vec::new();
    };
    let missing_db = -beside.off_db;
    let stands_out_db = beside.middle_db - beside.off_db;
    let Some(grade) = beside.grade(missing_db, stands_out_db) else {
        return Vec::new();
    };
    let owners = passage.owners(&beside.bands);
    let names = list(&evidence.names(&owners));
    let words = format!(
        "The top, 6 to 16 kHz, is {missing_db:.1} dB under the reference; what there is comes from \
         {names}."
    );
    vec![
        Finding::new(&KIND, grade, missing_db, words)
            .on(evidence.ids(&owners))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band(BAND_HZ)
            .against(
                0.0,
                format!("the reference, within {:.1} dB", beside.limit_db),
            )
            .mend(format!(
                "See whether {names} is too soft, or was filtered; take such a filter off. Lift a \
                 top only where the sound should be bright."
            ))
            .hear("The mix through everything above 6 kHz, then the reference.")
            .sure(0.75)
            .picture(curves(passage, BAND_HZ)),
    ]
}
