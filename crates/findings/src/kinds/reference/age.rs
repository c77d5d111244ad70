//! The reference is old by its tag.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "reference-age",
    family: Family::Reference,
    title: "the reference is from another time",
    cause: Cause::Reference,
    sizes: Sizes::look("years", 15.0),
    weight: 0.2,
    brings: &[],
    unsure: false,
    measures: "The year in the tag of the reference against the year in which this edition of \
               the rule was written.",
    matters: "Loudness, low end and vocal level of records have moved over the decades. An old \
              reference leads to an old balance.",
    threshold: "15 years, only to look at (common practice, no source). The lows have risen \
                over the decades (Hove and others, 2019), and voices sank by some 4 dB from \
                1946 to 1975 (Gerdes and Siedenburg, 2023).",
    mend: "Add a newer reference beside it, or keep it if its time is what you want to sound \
           like.",
    wrong: "When the tag holds the year of the song and the file is a new mix or master of it, \
            or the other way round.",
    hear: "Play it beside a release of this year at equal loudness: listen to the lowest \
           octave and to how dense it is.",
    train: "Take one song from each decade, turn them to equal loudness, and order them by \
            their low end alone.",
};

/// The year the rule counts from: no clock is asked, so that the same files give the
/// same findings.
const COUNTED_FROM: i32 = 2026;
/// Earlier years are no years of a recording.
const FIRST_RECORDS: i32 = 1900;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let reference = evidence.reference.as_ref().filter(|r| !r.is_print);
    let year = reference.and_then(|reference| reference.year);
    let Some(year) = year.filter(|year| (FIRST_RECORDS..=COUNTED_FROM).contains(year)) else {
        return Vec::new();
    };
    let age = f64::from(COUNTED_FROM - year);
    let Some(grade) = KIND.sizes.grade(age) else {
        return Vec::new();
    };
    let words = format!(
        "The reference is from {year} by its tag, {age:.0} years back: low end and loudness \
         were mixed otherwise."
    );
    vec![
        Finding::new(&KIND, grade, age, words)
            .against(15.0, "a reference of the same time")
            .sure(0.7)
            .mend("Add a newer reference beside it, unless its time is what you are after."),
    ]
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::evidence::ReferenceFacts;
    use crate::kinds::low_end::trial::{reference, session};

    fn found(year: Option<i32>) -> usize {
        let mut evidence = session(&[Role::Kick]);
        evidence.reference = Some(ReferenceFacts {
            year,
            ..reference()
        });
        find(&evidence).len()
    }

    #[test]
    fn looked_at_from_15_years_on() {
        assert_eq!(found(Some(2012)), 0);
        assert_eq!(found(Some(2011)), 1);
        assert_eq!(found(Some(1984)), 1);
    }

    #[test]
    fn no_tag_or_no_year_tells_nothing() {
        assert_eq!(found(None), 0);
        assert_eq!(found(Some(0)), 0);
        assert_eq!(found(Some(3019)), 0);
    }
}
