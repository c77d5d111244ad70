//! How sure the boundaries are.

use crate::semi_markov::Run;
use cupel_rhythm::Grid;

/// Weights of the chance that the boundaries are right (F of those inside the file
/// of 0.8 and more at one bar): 1, the expected error, the doubt of the tempo, the
/// doubt of the bar line. The first two by logistic regression through 87 generated
/// pieces, most of drawn sections, left out of the fit in three parts (seeds below 1000).
const CHANCE: [f64; 4] = [4.0, -20.0, -5.0, -3.0];

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
pub(crate) fn sure(expected_f: f64, grid: &Grid) -> f64 {
    let [base, error, tempo, bar] = CHANCE;
    let logit = base
        + error * (1.0 - expected_f).max(0.0)
        + tempo * (1.0 - grid.sure_tempo)
        + bar * (1.0 - grid.sure_downbeat);
    1.0 / (1.0 + (-logit).exp())
}
