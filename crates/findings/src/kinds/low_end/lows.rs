//! What several findings on low sounds share.

use crate::evidence::{Evidence, LowEndFacts, ratio_db};

/// Sixteenths in which the kick is this near to its loudest count as kick.
const KICK_RANGE_DB: f64 = 10.0;
/// Sixteenths in which the kick is this far below its loudest are free of it, dB.
const FREE_DB: f64 = -15.0;

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn listed<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// The passage, as the place to listen.
pub(crate) fn passage_span(evidence: &Evidence) -> Vec<(f64, f64)> {
    evidence
        .passage
        .iter()
        .map(|passage| passage.span_s)
        .collect()
}

/// Sixteenths of the bar in which the kick sounds.
pub(crate) fn kick_slots(low_end: &LowEndFacts) -> Vec<usize> {
    let kick = |slot: &[f64; 3]| slot[0];
    let loudest = low_end.sixteenths.iter().map(kick).fold(0.0, f64::max);
    let least = loudest * 10f64.powf(-KICK_RANGE_DB / 10.0);
    (0..low_end.sixteenths.len())
        .filter(|&slot| loudest > 0.0 && low_end.sixteenths[slot][0] >= least)
        .collect()
}

/// Sixteenths in which no kick sounds, or where it sounds least.
pub(crate) fn kick_free_slots(low_end: &LowEndFacts, slots: usize) -> Vec<usize> {
    let kick = |slot: usize| low_end.sixteenths.get(slot).map_or(0.0, |slot| slot[0]);
    let mut order: Vec<usize> = (0..slots).collect();
    order.sort_by(|&a, &b| kick(a).total_cmp(&kick(b)).then(a.cmp(&b)));
    let loudest = order.last().map_or(0.0, |&slot| kick(slot));
    let free = order
        .iter()
        .filter(|&&slot| ratio_db(kick(slot), loudest) <= FREE_DB);
    let free = if loudest > 0.0 { free.count() } else { slots };
    order.truncate(free.max(slots / 4));
    order
}

/// Middle value; `None` of none.
pub(crate) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_listed_as_people_say_them() {
        assert_eq!(listed::<&str>(&[]), "");
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
    }

    #[test]
    fn kick_sounds_where_it_is_near_its_loudest() {
        let slot = |kick: f64| [kick, 0.0, kick];
        let low_end = LowEndFacts {
            sixteenths: vec![slot(1.0), slot(0.11), slot(0.09), slot(0.0)],
            ..LowEndFacts::default()
        };
        assert_eq!(kick_slots(&low_end), [0, 1]);
        assert!(kick_slots(&LowEndFacts::default()).is_empty());
        assert_eq!(kick_free_slots(&low_end, 4), [3]);
    }
}
