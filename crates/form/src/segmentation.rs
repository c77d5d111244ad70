//! The best cut of the bars into sections, by dynamic programming.

use crate::similarity::{LONGEST, Similarity};

/// What a section costs, besides the scatter of its bars.
const SECTION: f64 = 1.6;
/// What a length costs that is no multiple of 8, of 4, of 2 bars.
const NOT_EIGHTS: f64 = 0.15;
const NOT_FOURS: f64 = 0.4;
const NOT_TWOS: f64 = 0.6;
/// What a length of one bar costs besides.
const ONE_BAR: f64 = 1.0;

/// Bar numbers at which sections start, and the number of bars as the last.
pub(crate) fn best_cut(alike: &Similarity, bars: usize) -> Vec<usize> {
    let mut best = vec![(0.0, 0); bars + 1];
    for end in 1..=bars {
        best[end] = (end.saturating_sub(LONGEST)..end)
            .map(|start| {
                let cost = best[start].0
                    + alike.scatter(start, end)
                    + SECTION
                    + length_cost(start, end, bars);
                (cost, start)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((0.0, 0));
    }
    let mut cuts = vec![bars];
    let mut end = bars;
    while end > 0 {
        end = best[end].1;
        cuts.push(end);
    }
    cuts.reverse();
    cuts
}

/// Sections of electronic music are mostly multiples of 8 or 4 bars long
/// (common practice, no source).
fn length_cost(start: usize, end: usize, bars: usize) -> f64 {
    let length = end - start;
    if end == bars {
        return 0.0;
    }
    match length {
        1 => NOT_EIGHTS + NOT_FOURS + NOT_TWOS + ONE_BAR,
        _ if length.is_multiple_of(8) => 0.0,
        _ if length.is_multiple_of(4) => NOT_EIGHTS,
        _ if length.is_multiple_of(2) => NOT_EIGHTS + NOT_FOURS,
        _ => NOT_EIGHTS + NOT_FOURS + NOT_TWOS,
    }
}
