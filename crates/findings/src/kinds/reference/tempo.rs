//! The reference runs at another tempo.

use crate::evidence::{Evidence, ReferenceFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "reference-tempo",
    family: Family::Reference,
    title: "the reference's tempo is far off",
    cause: Cause::Reference,
    sizes: Sizes::both("percent", 6.0, 12.0),
    weight: 0.5,
    brings: &["reference-style"],
    unsure: false,
    measures: "The tempo of the reference against that of the session, after halving or \
               doubling where that brings them nearer.",
    matters: "Tempo decides how long a kick may ring, how fast the bass moves and how long a \
              room may be. A reference at another tempo asks for the wrong lengths.",
    threshold: "6 percent to look at, 12 percent to mend (common practice, no source). A music \
                player's tempo slider often reaches 6 or 8 percent.",
    mend: "Choose a reference within a few beats a minute of the session, or keep it and go by \
           its balance only, not by its lengths.",
    wrong: "When one of the tempos was not heard right, or when half of the tempo is felt in \
            one of them and a third of it in the other.",
    hear: "Play both one after the other and tap along.",
    train: "Guess the tempo of ten songs by tapping, then measure.",
};

/// A tempo read with less certainty is none.
const LEAST_SURE: f64 = 0.6;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some((session_bpm, reference)) = both(evidence) else {
        return Vec::new();
    };
    let Some(reference_bpm) = reference.tempo_bpm.filter(|bpm| *bpm > 0.0) else {
        return Vec::new();
    };
    let folded_bpm = folded(reference_bpm, session_bpm);
    let off = 100.0 * (folded_bpm / session_bpm - 1.0);
    let counted = match (folded_bpm / reference_bpm - 1.0).abs() > 0.1 {
        true => format!("{reference_bpm:.1} BPM (counted as {folded_bpm:.1})"),
        false => format!("{reference_bpm:.1} BPM"),
    };
    let finding = match KIND.sizes.grade(off.abs()) {
        Some(grade) => {
            let way = if off > 0.0 { "faster" } else { "slower" };
            let words = format!(
                "The reference runs at {counted}, {:.0} percent {way} than the session's \
                 {session_bpm:.1}.",
                off.abs()
            );
            Finding::new(&KIND, grade, off.abs(), words).mend(
                "Choose a reference nearer in tempo, or go by its balance only, not by the \
                 lengths of its kick, bass and room.",
            )
        }
        None if off.abs() <= 3.0 => {
            let words = format!(
                "The reference fits in tempo: {counted} beside the session's {session_bpm:.1}."
            );
            Finding::new(&KIND, Grade::Good, off.abs(), words)
        }
        None => return Vec::new(),
    };
    let row = |name: &str, value: f64| PictureRow {
        name: name.into(),
        value,
        meant: name == "reference",
    };
    vec![
        finding
            .against(0.0, "the session's tempo")
            .sure(0.95 * reference.tempo_sure)
            .picture(Picture::Bars {
                unit: "BPM".into(),
                rows: vec![row("session", session_bpm), row("reference", folded_bpm)],
                limit: None,
            }),
    ]
}

fn both(evidence: &Evidence) -> Option<(f64, &ReferenceFacts)> {
    let session_bpm = evidence.mix.as_ref()?.tempo_bpm.filter(|bpm| *bpm > 0.0)?;
    let reference = evidence.reference.as_ref()?;
    let usable = !reference.is_print && reference.tempo_sure >= LEAST_SURE;
    usable.then_some((session_bpm, reference))
}

/// The tempo, its half or its double: what is nearest to another.
fn folded(bpm: f64, near_bpm: f64) -> f64 {
    let off = |bpm: &f64| (bpm / near_bpm).ln().abs();
    [bpm, 0.5 * bpm, 2.0 * bpm]
        .into_iter()
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .unwrap_or(bpm)
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{reference, session};

    /// Beside a session at 120.
    fn grade(bpm: f64, sure: f64) -> Option<Grade> {
        let mut evidence = session(&[Role::Kick]);
        evidence.reference = Some(ReferenceFacts {
            tempo_bpm: Some(bpm),
            tempo_sure: sure,
            ..reference()
        });
        find(&evidence).first().map(|finding| finding.grade)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        assert_eq!(grade(122.0, 0.9), Some(Grade::Good));
        assert_eq!(grade(127.0, 0.9), None);
        assert_eq!(grade(127.3, 0.9), Some(Grade::Look));
        assert_eq!(grade(106.0, 0.9), Some(Grade::Look));
        assert_eq!(grade(105.0, 0.9), Some(Grade::Mend));
        assert_eq!(grade(135.0, 0.9), Some(Grade::Mend));
    }

    #[test]
    fn half_and_double_are_one_tempo() {
        assert_eq!(grade(60.5, 0.9), Some(Grade::Good));
        assert_eq!(grade(238.0, 0.9), Some(Grade::Good));
    }

    #[test]
    fn a_tempo_hardly_heard_tells_nothing() {
        assert_eq!(grade(150.0, 0.4), None);
    }
}
