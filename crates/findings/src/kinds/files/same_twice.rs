//! One sound in two files.

use cupel_trust::{LeftOutWhy, NearIdentical, Trust};

use super::notes::track_of;
use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "same-twice",
    family: Family::Files,
    title: "the same track twice",
    cause: Cause::File,
    sizes: Sizes::mend("", 1.0),
    weight: 0.8,
    brings: &["core-level", "other-level"],
    unsure: false,
    measures: "Whether two files hold the same samples but for gain, polarity and a shift of up \
               to 50 ms, and whether the bounce holds both.",
    matters: "The same sound twice is 6 dB louder, not fatter; with a shift it is a comb filter, \
              upside down it is gone.",
    threshold: "A difference under -50 dB of the sound (common practice, no source). Only looked \
                at where the bounce holds both.",
    mend: "Leave one of the two files out.",
    wrong: "When a sound is doubled on purpose, moved or turned over, and panned apart.",
    hear: "Solo both and flip the polarity of one: if nothing is left, it is one sound.",
    train: "Copy a track, add both, then shift one by 1, 3 and 10 ms: learn the hollow sound of \
            a comb.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(trust) = &evidence.trust else {
        return Vec::new();
    };
    let exact = trust.near_identical.iter().filter(|pair| pair.exact);
    exact.map(|pair| of_pair(evidence, trust, pair)).collect()
}

fn of_pair(evidence: &Evidence, trust: &Trust, pair: &NearIdentical) -> Finding {
    let name = |id: &String| {
        track_of(&evidence.tracks, id).map_or_else(|| id.clone(), |t| t.file.name.clone())
    };
    let left_out = trust
        .tracks_left_out
        .iter()
        .any(|out| out.why == LeftOutWhy::Duplicate && (out.id == pair.a || out.id == pair.b));
    // A bounce that adds up with both in it shows that both are meant.
    let meant = trust.residual_db.is_some() && !left_out;
    let grade = if meant { Grade::Look } else { Grade::Mend };
    let mut how = String::new();
    if pair.lag_samples != 0 {
        how = format!(", {} samples apart", pair.lag_samples.abs());
    }
    if pair.correlation < 0.0 {
        how.push_str(", one of them upside down");
    }
    let words = format!(
        "{} and {} are one and the same sound{how}.",
        name(&pair.a),
        name(&pair.b)
    );
    let mend = if meant {
        "The bounce holds both: leave one out unless the doubling is meant.".to_owned()
    } else {
        format!("Leave {} out.", name(&pair.b))
    };
    Finding::new(&KIND, grade, 1.0, words)
        .on([pair.a.clone(), pair.b.clone()])
        .against(0.0, "two sounds in two files")
        .mend(mend)
        .hear("both with the polarity of one flipped: nothing is left")
        .sure(if meant { 0.8 } else { 0.97 })
}
