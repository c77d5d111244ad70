//! The bass at its note, beside the reference's bass at its own.

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::kinds::low_end::beside_reference::{LowsOff, bass_off};
use crate::kinds::low_end::lows::{listed, passage_span};

pub(crate) const KIND: Kind = Kind {
    name: "bass-lows",
    family: Family::LowEnd,
    title: "the bass's lows are off the reference's",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 3.0, 6.0),
    weight: 0.8,
    brings: &["kick-bass-overlap", "club-lows"],
    unsure: true,
    measures: "The power at the bass's own note and its octave while no kick covers it, and what \
               its tracks hold below 150 Hz between the kicks, against the reference at equal \
               loudness and against the kick; the middle of the differences counts.",
    matters: "Measured at fixed frequencies, two songs in different keys always differ. \
              Measured at its own note, the bass shows whether it holds the weight it should.",
    threshold: "3 dB to look at, 6 dB to mend (common practice, no source). Two good mixes \
                differ by 3 dB in an element, so that less means nothing.",
    mend: "Move the fader of the bass first. If its note is weak though the bass is loud, its \
           sound has too little fundamental: play it lower, choose another sound, or take off \
           the filter that thins it.",
    wrong: "When the reference's bass line was not heard right, or when its bass plays another \
            part, such as long low notes against a busy line.",
    hear: "Bass alone through a low pass at 150 Hz, beside the reference at equal loudness \
           between its kicks.",
    train: "Turn only the bass of a mix you know by 3 dB up or down, and guess which way, at \
            equal loudness.",
};

/// A bass line read with less certainty is no measure.
const LEAST_SURE: f64 = 0.5;
/// Fewer notes in the reference's passage tell nothing.
const LEAST_NOTES: usize = 4;
/// What is usual speaks against the reference from here on, dB.
const CONTRADICTS_DB: f64 = 2.0;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(off) = bass_off(evidence) else {
        return Vec::new();
    };
    let tracks = &evidence.low_end.bass;
    let sure = heard(evidence);
    if tracks.is_empty() || sure < LEAST_SURE {
        return Vec::new();
    }
    let finding = match KIND.sizes.grade(off.off_db.abs()) {
        Some(grade) => {
            let usual = usual_db(evidence)
                .is_some_and(|db| db * off.off_db < 0.0 && db.abs() > CONTRADICTS_DB);
            let grade = if usual { Grade::Look } else { grade };
            mend(evidence, off, grade).sure(0.85 * sure)
        }
        None if off.at_equal_loudness_db.abs() < 1.5 => {
            let words = format!(
                "The bass holds its note as in the reference, {:+.1} dB at equal loudness.",
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
            .in_band((30.0, 250.0))
            .against(
                0.0,
                "the reference's bass at its own notes, at equal loudness",
            )
            .hear("The bass's lows beside the reference's between the kicks, at equal loudness.")
            .picture(bars(off)),
    ]
}

/// Mean certainty of the reference's notes; 0 with few.
fn heard(evidence: &Evidence) -> f64 {
    let notes = evidence.reference.as_ref().map_or(&[][..], |r| &r.bass);
    if notes.len() < LEAST_NOTES {
        return 0.0;
    }
    notes.iter().map(|note| note.sure).sum::<f64>() / notes.len() as f64
}

fn mend(evidence: &Evidence, off: LowsOff, grade: Grade) -> Finding {
    let (way, much) = match off.off_db > 0.0 {
        true => ("stronger", "down"),
        false => ("weaker", "up"),
    };
    let bass = listed(&evidence.names(&evidence.low_end.bass));
    let beside = match off.against_other_db {
        Some(db) => format!(", and {db:+.1} dB against the kick"),
        None => String::new(),
    };
    let words = format!(
        "At its own note the bass ({bass}) is {:.1} dB {way} than the reference's at equal \
         loudness{beside}.",
        off.at_equal_loudness_db.abs()
    );
    Finding::new(&KIND, grade, off.off_db.abs(), words).mend(format!(
        "Turn {bass} {much} by up to {:.0} dB. If it is loud enough and only its note is off, \
         change its sound or its octave.",
        off.off_db.abs()
    ))
}

/// How far the bass is over what is usual for it, dB; of several tracks the nearest.
fn usual_db(evidence: &Evidence) -> Option<f64> {
    let tracks = evidence.low_end.bass.iter();
    let usual = tracks.filter_map(|&track| {
        let level = evidence.tracks.get(track)?.level?;
        level.usual_gain_db.map(|gain_db| -gain_db)
    });
    usual.min_by(|a, b| a.abs().total_cmp(&b.abs()))
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
            .map(|db| row("against the kick", db, false)),
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
    use crate::kinds::low_end::beside_reference::tests::off_by;
    use crate::kinds::low_end::trial::notes;

    fn with(kick_db: f64, bass_db: f64, heard: usize) -> Option<Grade> {
        let mut evidence = off_by(kick_db, bass_db);
        if let Some(reference) = &mut evidence.reference {
            reference.bass = notes(16.0, 0.5, &vec![38; heard]);
        }
        find(&evidence).first().map(|finding| finding.grade)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        assert_eq!(with(0.0, 2.9, 8), None);
        assert_eq!(with(0.0, 3.1, 8), Some(Grade::Look));
        assert_eq!(with(0.0, -5.9, 8), Some(Grade::Look));
        assert_eq!(with(0.0, -6.1, 8), Some(Grade::Mend));
        assert_eq!(with(0.0, 1.0, 8), Some(Grade::Good));
    }

    #[test]
    fn a_bass_line_hardly_heard_tells_nothing() {
        assert_eq!(with(0.0, 9.0, 3), None);
    }

    #[test]
    fn a_mix_without_lows_is_no_fault_of_the_bass_alone() {
        assert_eq!(with(-6.0, -7.0, 8), None);
    }
}
