//! The lows of the kick, beside those of the reference's kick.

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::beside_reference::{LowsOff, kick_off};
use crate::kinds::low_end::lows::{median, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "kick-lows",
    family: Family::LowEnd,
    title: "the kick's lows are off the reference's",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.8,
    brings: &["kick-bass-overlap", "club-lows"],
    unsure: false,
    measures: "25 to 150 Hz in the sixteenths in which a kick starts, in the mix and in the \
               reference at equal loudness, and the same against the bass; the middle of both \
               differences counts.",
    matters: "In club music the kick carries the low end. Too little of it and the mix has no \
              floor; too much and everything else has to be turned down.",
    threshold: "3 dB to look at, 6 dB to mend (common practice, no source). Two good mixes \
                differ by 3 dB in an element, so that less means nothing.",
    mend: "Move the fader of the kick, or of all others, until kick and bass stand as in the \
           reference. If only its lows differ and the kick's fader does not help, choose \
           another kick. Take off what you added to it before you filter.",
    wrong: "When the reference is of another style, when its kick is soft on purpose, or when \
            its beats were not heard right.",
    hear: "Kick alone through a low pass at 150 Hz, beside the reference at equal loudness \
           through the same filter.",
    train: "Turn only the kick of a mix you know by 3 dB up or down, and guess which way, at \
            equal loudness.",
};

/// How sure at least: where its kicks start is known better than how they sound.
const LEAST_SURE: f64 = 0.5;
/// What is usual speaks against the reference from here on, dB.
const CONTRADICTS_DB: f64 = 2.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(off) = kick_off(evidence) else {
        return Vec::new();
    };
    let reference = evidence.reference.as_ref();
    let kick = reference.and_then(|reference| reference.kick.as_ref());
    let sure = kick.map_or(LEAST_SURE, |kick| kick.sure.max(LEAST_SURE));
    let tracks = &evidence.low_end.kick;
    let finding = match KIND.sizes.grade(off.off_db.abs()) {
        Some(grade) => {
            let usual = usual_db(evidence)
                .is_some_and(|db| db * off.off_db < 0.0 && db.abs() > CONTRADICTS_DB);
            let grade = if usual { Grade::Look } else { grade };
            mend(evidence, off, grade).sure(0.85 * sure)
        }
        None if off.at_equal_loudness_db.abs() < 1.5 => {
            let words = format!(
                "The kick's lows stand as in the reference, {:+.1} dB at equal loudness.",
                off.at_equal_loudness_db
            );
            Finding::new(&KIND, Grade::Good, off.at_equal_loudness_db.abs(), words)
        }
        None => return Vec::new(),
    };
    vec![
        finding
            .on(evidence.ids(tracks))
            .at(passage_span(evidence))
            .in_band((25.0, 150.0))
            .against(0.0, "the reference's kick at equal loudness")
            .hear("The kick's lows beside the reference's, both below 150 Hz at equal loudness.")
            .picture(bars(off)),
    ]
}

fn mend(evidence: &Evidence, off: LowsOff, grade: Grade) -> Finding {
    let (way, much) = match off.off_db > 0.0 {
        true => ("stronger", "down"),
        false => ("weaker", "up"),
    };
    let beside = match off.against_other_db {
        Some(db) => format!(", and {db:+.1} dB against the bass"),
        None => String::new(),
    };
    let words = format!(
        "The kick's lows are {:.1} dB {way} than in the reference at equal loudness{beside}.",
        off.at_equal_loudness_db.abs()
    );
    let all = evidence.low_end.kick.len();
    let tracks = if all > 1 {
        "the kick's tracks"
    } else {
        "the kick"
    };
    Finding::new(&KIND, grade, off.off_db.abs(), words).mend(format!(
        "Turn {tracks} {much} by up to {:.0} dB beside the rest. If only its lows are off, \
         change the kick's sound rather than its level.",
        off.off_db.abs()
    ))
}

/// How far the kick is over what is usual, dB, by what the core elements ask for.
fn usual_db(evidence: &Evidence) -> Option<f64> {
    let core = evidence.elements.iter().filter(|element| element.core);
    let tracks = core.flat_map(|element| &element.tracks);
    let asked = tracks.filter_map(|&track| {
        let track = evidence.tracks.get(track)?;
        track.level.filter(|_| !track.is_kick)?.usual_gain_db
    });
    median(asked.collect())
}

fn bars(off: LowsOff) -> Picture {
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    let mut rows = vec![row("at equal loudness", off.at_equal_loudness_db, true)];
    rows.extend(
        off.against_other_db
            .map(|db| row("against the bass", db, false)),
    );
    Picture::Bars {
        unit: "dB over the reference".into(),
        rows,
        limit: KIND.sizes.look,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::LevelFacts;
    use crate::kinds::low_end::beside_reference::tests::off_by;
    use crate::kinds::low_end::trial::kick;

    fn with(kick_db: f64, bass_db: f64) -> Evidence {
        let mut evidence = off_by(kick_db, bass_db);
        if let Some(reference) = &mut evidence.reference {
            reference.kick = Some(kick(50.0, 200.0));
        }
        evidence
    }

    fn grade(kick_db: f64, bass_db: f64) -> Option<Grade> {
        find(&with(kick_db, bass_db)).first().map(|f| f.grade)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        assert_eq!(grade(2.9, 0.0), None);
        assert_eq!(grade(3.1, 0.0), Some(Grade::Look));
        assert_eq!(grade(-5.9, 0.0), Some(Grade::Look));
        assert_eq!(grade(-6.1, 0.0), Some(Grade::Mend));
        assert_eq!(grade(0.5, 0.0), Some(Grade::Good));
    }

    #[test]
    fn a_kick_that_went_with_all_the_low_end_is_not_its_own_fault() {
        assert_eq!(grade(7.0, 6.0), None);
    }

    #[test]
    fn only_looked_at_where_what_is_usual_speaks_against_it() {
        let mut evidence = with(7.0, 0.0);
        // The others are too loud beside the kick already.
        for track in &mut evidence.tracks[1..] {
            track.level = Some(LevelFacts {
                asked_gain_db: 0.0,
                reference_gain_db: None,
                usual_gain_db: Some(-3.0),
                spread_db: 2.0,
            });
        }
        assert_eq!(find(&evidence)[0].grade, Grade::Look);
    }
}
