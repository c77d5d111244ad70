//! A low element stands beside the middle.

use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::low_end::lows::passage_span;

pub(crate) const KIND: Kind = Kind {
    name: "lows-off-centre",
    family: Family::LowEnd,
    title: "a low sound stands beside the middle",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 2.0, 4.0),
    weight: 0.6,
    brings: &["element-lean", "mix-lean"],
    unsure: false,
    measures: "Below 120 Hz, left against right of every element that holds a fifth of the \
               low end or more.",
    matters: "Two loudspeakers share the work in the lows only when both get the same. A low \
              sound on one side costs headroom there and weight everywhere.",
    threshold: "2 dB to look at, 4 dB to mend (common practice, no source). In student mixes \
                bass and kick are nearly centred (De Man and others, 2014), and systems that \
                pan by rule keep lows centred below 200 Hz (Perez-Gonzalez and Reiss, 2010; \
                Mansbridge and others, 2012).",
    mend: "Pan the element to the middle. If only its lows stand aside, take off the effect \
           that moved them.",
    wrong: "When two low sounds balance each other on purpose, such as toms that wander from \
            side to side.",
    hear: "Solo the element through a low pass at 120 Hz and compare both loudspeakers.",
    train: "Pan a bass line slowly from the middle to a side: notice when the weight goes, \
            long before the place is heard.",
};

/// What counts as low.
const LOW_HZ: f64 = 120.0;
/// An element with less of the low end does not matter there.
const LEAST_SHARE: f64 = 0.2;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(passage) = &evidence.passage else {
        return Vec::new();
    };
    let bands = passage.bands_within(0.0, LOW_HZ);
    let shares = passage.shares(&bands);
    let lean_of = |tracks: &[usize]| -> f64 {
        let mut sides = [0.0; 2];
        for sides_of in tracks
            .iter()
            .filter_map(|&track| passage.track_sides.get(track))
        {
            for &[left, right] in bands.iter().filter_map(|&band| sides_of.get(band)) {
                sides[0] += left;
                sides[1] += right;
            }
        }
        ratio_db(sides[1], sides[0])
    };
    let leaning = evidence.elements.iter().filter_map(|element| {
        let share: f64 = element
            .tracks
            .iter()
            .filter_map(|&track| shares.get(track))
            .sum();
        let lean_db = lean_of(&element.tracks);
        let grade = KIND
            .sizes
            .grade(lean_db.abs())
            .filter(|_| share >= LEAST_SHARE)?;
        let side = if lean_db > 0.0 { "right" } else { "left" };
        let words = format!(
            "Below 120 Hz the {} is {:.1} dB stronger on the {side}; it makes {:.0} percent of \
             the low end.",
            element.name,
            lean_db.abs(),
            100.0 * share
        );
        let finding = Finding::new(&KIND, grade, lean_db.abs(), words)
            .on(evidence.ids(&element.tracks))
            .of_element(element.name.clone())
            .at(passage_span(evidence))
            .in_band((20.0, LOW_HZ))
            .against(0.0, "lows stand in the middle")
            .mend(format!(
                "Pan the {} to the middle, or take off what moved it.",
                element.name
            ))
            .hear("Its lows alone: both loudspeakers should work alike.")
            .picture(Picture::Beam {
                lean_db,
                limit_db: KIND.sizes.look.unwrap_or(2.0),
            });
        Some(finding)
    });
    leaning.collect()
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kind::Grade;
    use crate::kinds::low_end::trial::{add, session};

    const ALL: [usize; 16] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15];

    fn with(bass_lean_db: f64, bass_level: f64) -> Evidence {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let right = bass_level * 10f64.powf(bass_lean_db / 10.0);
        add(
            &mut evidence,
            0,
            (20.0, 110.0),
            &[0, 4, 8, 12],
            ([4.0, 4.0], 0.0),
        );
        add(
            &mut evidence,
            1,
            (20.0, 110.0),
            &ALL,
            ([bass_level, right], 0.0),
        );
        evidence
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        let grade = |db: f64| find(&with(db, 1.0)).first().map(|f| f.grade);
        assert_eq!(grade(1.9), None);
        assert_eq!(grade(-2.1), Some(Grade::Look));
        assert_eq!(grade(3.9), Some(Grade::Look));
        assert_eq!(grade(-4.1), Some(Grade::Mend));
        let found = find(&with(6.0, 1.0));
        assert_eq!(found[0].tracks, ["t1"]);
        assert!(found[0].sentence.contains("6.0 dB stronger on the right"));
    }

    #[test]
    fn what_holds_little_of_the_low_end_may_stand_anywhere() {
        assert!(find(&with(20.0, 0.001)).is_empty());
    }
}
