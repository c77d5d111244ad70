//! Tempo, grid, bars, swing; drift and no beat.

use crate::prove::judge::beats::beats_f;
use crate::prove::judge::tempo::{
    DOWNBEAT_S, delay_error_s, downbeat_error_s, octave, phase_error_s, tempo_error_bpm,
};
use crate::prove::piece::Case;
use crate::prove::row::Row;
use crate::prove::rows::{Look, few};

/// Furthest a grid may lie from the true one.
const PHASE_S: f64 = 0.01;
/// Furthest swing may be off; no goal is set from outside, a sixteenth at 120 is then
/// 5 ms off.
const SWING: f64 = 0.02;
/// From this length on the finer goal for the tempo holds.
const LONG_S: f64 = 60.0;

/// Rows of everything on a grid.
pub(crate) fn rows(on: &'static str, looks: &[Look<'_>]) -> Vec<Row> {
    let steady: Vec<&Look<'_>> = looks.iter().filter(|look| look.truth.is_steady()).collect();
    let told = |look: &Look<'_>| octave(look.truth, look.ranged).is_some();
    let untold = |look: &Look<'_>| octave(look.truth, look.plain).is_some();
    let right: Vec<&&Look<'_>> = steady.iter().filter(|look| told(look)).collect();
    let wrong = |bad: &dyn Fn(&Look<'_>) -> bool, among: &[&Look<'_>]| {
        few(among.iter().filter(|look| bad(look)).map(|look| look.name))
    };
    let long: Vec<&&&Look<'_>> = right
        .iter()
        .filter(|look| look.truth.end_s() - look.truth.first_downbeat_s >= LONG_S - 2.0)
        .collect();
    let errors: Vec<f64> = long
        .iter()
        .filter_map(|look| tempo_error_bpm(look.truth, look.ranged))
        .collect();
    let worst = errors.iter().copied().fold(0.0, f64::max);
    let phases: Vec<Option<f64>> = right
        .iter()
        .map(|look| phase_error_s(look.truth, look.ranged))
        .collect();
    let on_bar = |look: &Look<'_>| {
        downbeat_error_s(look.truth, look.ranged).is_some_and(|s| s <= DOWNBEAT_S)
    };
    let metre = |look: &Look<'_>| look.ranged.beats_per_bar == Some(look.truth.beats_per_bar);
    let of_beats = |beats: u32| {
        let these = steady
            .iter()
            .filter(move |l| l.truth.beats_per_bar == beats);
        these.map(|look| metre(look)).collect::<Vec<_>>()
    };
    let swings = right.iter().filter_map(|look| {
        let (truth, given) = (look.truth.swing?, look.ranged.swing);
        Some(given.is_some_and(|given| (given - truth).abs() <= SWING))
    });
    let mut rows = vec![
        Row::share(
            on,
            "tempo within 4 %, a range told",
            0.97,
            steady.iter().map(|l| told(l)),
        )
        .noted(wrong(&|look| !told(look), &steady)),
        Row::share(
            on,
            "tempo within 4 %, nothing told",
            0.9,
            steady.iter().map(|l| untold(l)),
        )
        .noted(wrong(&|look| !untold(look), &steady)),
        Row::share(
            on,
            "grid tempo within 0.01 BPM, 60 s and more",
            0.95,
            errors.iter().map(|error| *error <= 0.01),
        )
        .noted(format!("worst {worst:.3} BPM")),
        Row::share(
            on,
            "grid within 10 ms of the true one",
            0.95,
            phases.iter().map(|s| s.is_some_and(|s| s <= PHASE_S)),
        )
        .noted(few(right.iter().zip(&phases).filter_map(
            |(look, phase)| (!phase.is_some_and(|s| s <= PHASE_S)).then_some(look.name),
        ))),
        Row::share(
            on,
            "downbeat, modulo one bar",
            0.9,
            steady.iter().map(|l| on_bar(l)),
        )
        .noted(wrong(&|look| !on_bar(look), &steady)),
        Row::share(on, "metre of pieces in 4/4", 0.9, of_beats(4)),
        Row::share(on, "metre of pieces in 3/4", 0.9, of_beats(3)),
        Row::share(on, "swing within 0.02", 0.9, swings),
    ];
    if on == "sessions" {
        // none of the shared sessions counts three
        rows.retain(|row| row.n > 0 || !row.name.contains("3/4"));
    }
    rows
}

/// Rows that only made pieces have.
pub(crate) fn of_pieces(cases: &[Case]) -> Vec<Row> {
    let on = "pieces";
    let excerpts: Vec<f64> = cases
        .iter()
        .filter_map(|case| tempo_error_bpm(&case.truth, case.excerpt.as_ref()?))
        .collect();
    let cut = cases.iter().filter(|case| case.excerpt.is_some()).count();
    let worst = excerpts.iter().copied().fold(0.0, f64::max);
    let delays: Vec<(&str, bool)> = cases
        .iter()
        .filter(|case| octave(&case.truth, &case.plain).is_some())
        .filter_map(|case| {
            let (delay_s, later) = case.delayed.as_ref()?;
            let middle_s = 0.5 * case.truth.end_s();
            let error = delay_error_s(&case.plain, later, *delay_s, middle_s);
            Some((case.name.as_str(), error.is_some_and(|s| s <= 0.001)))
        })
        .collect();
    let beatless: Vec<&Case> = cases.iter().filter(|case| case.truth.beatless).collect();
    let silent = |case: &Case| case.plain.tempo_bpm.is_none() && case.plain.absent.is_empty();
    let drifts: Vec<&Case> = cases.iter().filter(|case| case.truth.drifts()).collect();
    let of_drift = |case: &&Case| beats_f(&case.truth, &case.ranged);
    let low: Vec<&str> = drifts
        .iter()
        .filter(|case| of_drift(case) < 0.9)
        .map(|case| case.name.as_str())
        .collect();
    vec![
        Row::share(
            on,
            "grid tempo within 0.05 BPM, 15 s",
            0.95,
            excerpts.iter().map(|error| *error <= 0.05),
        )
        .noted(format!(
            "worst {worst:.3} BPM; octave wrong in {}",
            cut - excerpts.len()
        )),
        Row::share(
            on,
            "a delay moves the grid by as much, within 1 ms",
            1.0,
            delays.iter().map(|(_, right)| *right),
        )
        .noted(few(delays
            .iter()
            .filter(|(_, right)| !right)
            .map(|(name, _)| *name))),
        Row::share(
            on,
            "no tempo told where there is no beat",
            0.9,
            beatless.iter().map(|c| silent(c)),
        )
        .noted(few(beatless
            .iter()
            .filter(|c| !silent(c))
            .map(|c| c.name.as_str()))),
        Row::mean(
            on,
            "beats that drift: F within 70 ms",
            0.9,
            drifts.iter().map(of_drift),
        )
        .noted(few(low)),
    ]
}
