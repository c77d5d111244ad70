//! How sure the boundaries are.

use crate::semi_markov::Run;

/// Weights of the chance that the boundaries are right (F of 0.9 and more at one
/// bar), fitted on generated pieces by `fit/sure.py`: 1, the expected error, the
/// grid's doubt.
const CHANCE: [f64; 3] = [3.0, -25.0, -4.0];

/// Expected F of the found boundaries at a tolerance of one bar, given how likely
/// each bar line is a boundary; file start and end count as found.
pub(crate) fn expected_f(cut: &[Run], likely: &[f64]) -> f64 {
    let found = cut.len() as f64 + 1.0;
    let hits: f64 = cut
        .iter()
        .skip(1)
        .map(|run| {
            let near = run.from.saturating_sub(1).max(1)..(run.from + 2).min(likely.len());
            likely[near].iter().sum::<f64>().min(1.0)
        })
        .sum();
    let true_ones = likely.iter().skip(1).sum::<f64>() + 2.0;
    2.0 * (hits + 2.0) / (found + true_ones)
}

/// Chance that the boundaries are right.
pub(crate) fn sure(expected_f: f64, sure_tempo: f64) -> f64 {
    let [base, error, doubt] = CHANCE;
    let logit = base + error * (1.0 - expected_f).max(0.0) + doubt * (1.0 - sure_tempo);
    1.0 / (1.0 + (-logit).exp())
}
