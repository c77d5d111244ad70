//! Loops of references at the session's tempo.

use crate::prove::looped::LoopCase;
use crate::prove::row::{Goal, Row};
use crate::prove::session::SessionCase;

/// Rows over all loops of some sessions; without any, the goals are not reached.
pub(crate) fn rows(on: &'static str, cases: &[SessionCase]) -> Vec<Row> {
    let loops: Vec<&LoopCase> = cases.iter().flat_map(|case| &case.loops).collect();
    let onsets: usize = loops.iter().map(|one| one.onsets).sum();
    let part = |count: usize| (onsets > 0).then(|| count as f64 / onsets as f64);
    let in_time = loops.iter().map(|one| one.in_time).sum();
    let clean = onsets - loops.iter().map(|one| one.smeared).sum::<usize>();
    let worst = |of: fn(&LoopCase) -> Option<f64>| {
        let values = loops.iter().filter_map(|one| of(one));
        values.map(f64::abs).reduce(f64::max)
    };
    let asked = cases.iter().filter(|case| case.reference.is_some()).count();
    let why = cases.iter().find_map(|case| case.no_loop.clone());
    let row = |name: &str, goal: Goal, measured: Option<f64>, n: usize| {
        let n = if loops.is_empty() { asked } else { n };
        Row::new(on, name, goal, measured, n).noted(why.clone().unwrap_or_default())
    };
    let count = loops.len();
    vec![
        row(
            "loop: onsets within 3 ms",
            Goal::AtLeast(1.0),
            part(in_time),
            onsets,
        ),
        row(
            "loop: no more before hits than at -30 dB",
            Goal::AtLeast(1.0),
            part(clean),
            onsets,
        ),
        row(
            "loop: furthest pitch, in cents",
            Goal::AtMost(1.0),
            worst(|one| one.cents),
            count,
        ),
        row(
            "loop: largest third octave, in dB",
            Goal::AtMost(0.5),
            worst(|one| one.third_octave_db),
            count,
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::row::Verdict;

    #[test]
    fn one_late_onset_is_enough_to_fall_short() {
        let looped = LoopCase {
            name: "a".to_owned(),
            in_key: false,
            semitones: 0.0,
            onsets: 100,
            in_time: 99,
            smeared: 0,
            cents: Some(-0.4),
            third_octave_db: Some(0.6),
        };
        let case = SessionCase {
            loops: vec![looped],
            ..SessionCase::default()
        };
        let verdicts: Vec<Verdict> = rows("x", &[case]).iter().map(|row| row.verdict).collect();
        let (pass, short) = (Verdict::Pass, Verdict::Short);
        assert_eq!(verdicts, [short, pass, pass, short]);
    }
}
