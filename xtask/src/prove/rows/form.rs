//! Sections and the busiest passage.

use crate::prove::judge::sections::{boundary_f, passage_share};
use crate::prove::row::Row;
use crate::prove::rows::{Look, few};

/// Boundaries of a piece count as right from here on, where one word is needed.
pub(crate) const RIGHT_F: f64 = 0.8;

/// Rows of files whose sections are known. A range of tempo is told: what sections
/// need of the tempo is judged elsewhere.
pub(crate) fn rows(on: &'static str, looks: &[Look<'_>]) -> Vec<Row> {
    let known: Vec<&Look<'_>> = looks
        .iter()
        .filter(|look| look.truth.sections.len() > 1)
        .collect();
    let f = |look: &&Look<'_>| boundary_f(look.truth, look.ranged);
    let share = |look: &&Look<'_>| passage_share(look.truth, look.ranged).unwrap_or(0.0);
    let low = |of: &dyn Fn(&&Look<'_>) -> f64| {
        few(known
            .iter()
            .filter(|look| of(look) < RIGHT_F)
            .map(|look| look.name))
    };
    vec![
        Row::mean(
            on,
            "section boundaries: F at one bar",
            0.9,
            known.iter().map(f),
        )
        .noted(low(&f)),
        Row::mean(
            on,
            "share of the passage in the busiest section",
            0.8,
            known.iter().map(share),
        )
        .noted(low(&share)),
    ]
}
