//! From what was advised to rows.
//!
//! Error of a track: what was done to it plus what was advised, less the median of
//! that over the tracks that sound in the passage.

use std::collections::BTreeMap;

use crate::levels::trial::{Advice, Kind, Outcome};
use crate::prove::row::{Goal, Row};

/// Whose advice.
type Of = fn(&Advice) -> Option<f64>;

const EXACT: Of = |advice| advice.exact_db;
const ROUND: Of = |advice| advice.round_db;
const ALONE: Of = |advice| advice.no_usual_db;
const EQUAL: Of = |advice| Some(advice.equal_db);
const TABLE: Of = |advice| Some(advice.table_db);
const UNTOUCHED: Of = |_| Some(0.0);

/// Errors of the tracks that sound, dB, with their roles.
fn errors(outcome: &Outcome, of: Of) -> Vec<(&str, f64)> {
    let sounding = outcome.tracks.iter().filter(|advice| advice.sounds);
    let raw: Vec<(&str, f64)> = sounding
        .filter_map(|advice| Some((advice.role.as_str(), advice.offset_db + of(advice)?)))
        .collect();
    let middle = quantile(raw.iter().map(|(_, error)| *error), 0.5).unwrap_or(0.0);
    raw.into_iter()
        .map(|(role, error)| (role, error - middle))
        .collect()
}

fn quantile(values: impl IntoIterator<Item = f64>, part: f64) -> Option<f64> {
    let mut values: Vec<f64> = values.into_iter().collect();
    values.sort_by(f64::total_cmp);
    let place = part * (values.len().checked_sub(1)? as f64);
    let (low, high) = (place.floor() as usize, place.ceil() as usize);
    Some(values[low] + (values[high] - values[low]) * place.fract())
}

fn sizes(outcomes: &[&Outcome], of: Of) -> Vec<f64> {
    let all = outcomes.iter().flat_map(|outcome| errors(outcome, of));
    all.map(|(_, error)| error.abs()).collect()
}

/// Median, 95th percentile and worst, as words.
fn words(sizes: &[f64]) -> String {
    let at = |part| quantile(sizes.iter().copied(), part).unwrap_or(f64::NAN);
    format!("{:.2} / {:.2} / {:.1}", at(0.5), at(0.95), at(1.0))
}

/// All rows.
pub(crate) fn rows(outcomes: &[Outcome]) -> Vec<Row> {
    let mut rows = Vec::new();
    for (kind, median, high) in [
        (Kind::OwnMix, 0.25, 1.0),
        (Kind::Disguise, 0.7, 3.0),
        (Kind::AnotherSong, 1.8, 7.0),
    ] {
        for (on, shared) in [("sessions", true), ("made sessions", false)] {
            let of_kind: Vec<&Outcome> = outcomes
                .iter()
                .filter(|o| o.kind == kind && o.shared == shared)
                .collect();
            rows.extend(of_errors(on, kind, &of_kind, (median, high)));
        }
    }
    let read: Vec<&Outcome> = outcomes
        .iter()
        .filter(|outcome| outcome.kind == Kind::ReadBack)
        .collect();
    rows.extend(of_errors("all", Kind::ReadBack, &read, (0.25, 1.0)));
    let others: Vec<&Outcome> = outcomes
        .iter()
        .filter(|outcome| outcome.kind == Kind::AnotherSong)
        .collect();
    rows.extend(harm(&others));
    rows.extend(beside_others(&others));
    for (role, least) in [("bass", 6.0), ("clap", 4.0), ("voice", 3.0), ("hat", 3.0)] {
        let follows: Vec<f64> = others
            .iter()
            .flat_map(|outcome| &outcome.follows)
            .filter(|(name, _)| name == role)
            .map(|(_, db)| *db)
            .collect();
        let name = format!("another song: advice follows its {role} by, dB (median)");
        let n = follows.len();
        rows.push(Row::new(
            "all",
            name,
            Goal::AtLeast(least),
            quantile(follows, 0.5),
            n,
        ));
    }
    rows
}

fn of_errors(
    on: &'static str,
    kind: Kind,
    outcomes: &[&Outcome],
    (median, high): (f64, f64),
) -> Vec<Row> {
    let exact = sizes(outcomes, EXACT);
    let row = |part: f64, most: f64, name: &str| {
        let measured = quantile(exact.iter().copied(), part);
        let name = format!("{}: error, dB ({name})", kind.words());
        Row::new(on, name, Goal::AtMost(most), measured, exact.len())
    };
    let round = words(&sizes(outcomes, ROUND));
    let worst = words(&exact);
    let failed = outcomes.iter().filter(|o| o.failed.is_some()).count();
    vec![
        row(0.5, median, "median").noted(format!("{worst}; one round {round}; failed {failed}")),
        row(0.95, high, "95 percent"),
    ]
}

/// Tracks that the advice makes worse than they were.
fn harm(outcomes: &[&Outcome]) -> Vec<Row> {
    let mut worse: Vec<f64> = Vec::new();
    for outcome in outcomes {
        let pairs = errors(outcome, EXACT)
            .into_iter()
            .zip(errors(outcome, UNTOUCHED));
        worse.extend(pairs.map(|((_, after), (_, before))| after.abs() - before.abs()));
    }
    let n = worse.len();
    let part = |least: f64| {
        let count = worse.iter().filter(|&&db| db > least).count();
        (n > 0).then(|| count as f64 / n as f64)
    };
    vec![
        Row::new(
            "all",
            "another song: tracks worse than untouched by 2 dB",
            Goal::AtMost(0.125),
            part(2.0),
            n,
        ),
        Row::new(
            "all",
            "another song: tracks worse than untouched by 6 dB",
            Goal::AtMost(0.0),
            part(6.0),
            n,
        ),
    ]
}

/// Against the best of what needs no solver.
fn beside_others(outcomes: &[&Outcome]) -> Vec<Row> {
    let median = |of: Of| quantile(sizes(outcomes, of), 0.5);
    let peers: [(&str, Of); 4] = [
        ("untouched", UNTOUCHED),
        ("equal loudness", EQUAL),
        ("table of roles", TABLE),
        ("reference alone", ALONE),
    ];
    let said: Vec<String> = peers
        .iter()
        .map(|(name, of)| format!("{name} {}", words(&sizes(outcomes, *of))))
        .collect();
    let best = peers
        .iter()
        .filter_map(|(_, of)| median(*of))
        .reduce(f64::min);
    let ratio = median(EXACT).zip(best).map(|(own, best)| own / best);
    let n = sizes(outcomes, EXACT).len();
    let row = Row::new(
        "all",
        "another song: median error against the best of four others",
        Goal::AtMost(0.8),
        ratio,
        n,
    );
    vec![row.noted(said.join("; "))]
}

/// What one ordinary round does to a mix that nothing is wrong with.
pub(crate) fn left_alone(outcomes: &[Outcome]) -> String {
    let right = outcomes.iter().filter(|o| o.kind == Kind::NothingWrong);
    let sizes = sizes(&right.collect::<Vec<_>>(), ROUND);
    let moved = sizes.iter().filter(|&&db| db >= 1.0).count();
    format!(
        "nothing wrong: one round moves {moved} of {} tracks by 1 dB or more; median / 95 \
         percent / worst {} dB",
        sizes.len(),
        words(&sizes)
    )
}

/// Errors of one kind of trial, role by role.
pub(crate) fn by_role(outcomes: &[Outcome], kind: Kind) -> String {
    let mut by: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for outcome in outcomes.iter().filter(|outcome| outcome.kind == kind) {
        for (role, error) in errors(outcome, EXACT) {
            by.entry(role).or_default().push(error);
        }
    }
    let mut text = format!(
        "{}, by role: median, 95 percent, worst of the sizes; median of the errors, dB\n",
        kind.words()
    );
    for (role, errors) in by {
        let sizes: Vec<f64> = errors.iter().map(|error| error.abs()).collect();
        let middle = quantile(errors.iter().copied(), 0.5).unwrap_or(0.0);
        text += &format!(
            "{role:<12} {:>4}  {}; {middle:+.1}\n",
            errors.len(),
            words(&sizes)
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outcome(tracks: &[(f64, f64)]) -> Outcome {
        let advice = |&(offset_db, exact_db): &(f64, f64)| Advice {
            role: "pad".to_owned(),
            sounds: true,
            offset_db,
            exact_db: Some(exact_db),
            round_db: None,
            no_usual_db: Some(0.0),
            equal_db: 0.0,
            table_db: 0.0,
        };
        Outcome {
            name: "x".to_owned(),
            kind: Kind::AnotherSong,
            shared: true,
            tracks: tracks.iter().map(advice).collect(),
            follows: vec![("bass".to_owned(), 5.0)],
            failed: None,
        }
    }

    #[test]
    fn a_common_gain_is_no_error() {
        let right = outcome(&[(3.0, -3.0 + 1.5), (-6.0, 6.0 + 1.5), (0.0, 1.5)]);
        assert!(
            errors(&right, EXACT)
                .iter()
                .all(|(_, error)| error.abs() < 1e-12)
        );
        let rows = rows(&[right]);
        let of = |name: &str| {
            let mut found = rows.iter().filter(|row| row.name.contains(name));
            found.next().and_then(|row| row.measured)
        };
        assert_eq!(of("worse than untouched by 2 dB"), Some(0.0));
        assert_eq!(of("follows its bass"), Some(5.0));
    }

    #[test]
    fn quantiles_lie_between() {
        assert_eq!(quantile([1.0, 2.0, 4.0], 0.5), Some(2.0));
        assert_eq!(quantile([1.0, 2.0], 0.5), Some(1.5));
        assert_eq!(quantile([], 0.5), None);
    }
}
