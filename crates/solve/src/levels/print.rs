//! The reference read as a print of this very mix.

use cupel_compare::Cells;

use super::{LevelInput, Levels, PRINT_BELIEF_DB, PRINT_SPREAD_DB, ReferenceKind, Told};
use crate::views::print_views;

/// Nothing else is tried where they agree to this.
const SURE_PRINT_DB: f64 = 0.05;
/// A print may have been transposed by so many semitones, and begin so many bars
/// earlier or later than its first bar line says.
const TRANSPOSED: [i32; 4] = [-2, -1, 1, 2];
const BARS_OFF: [i32; 3] = [-1, 1, 2];

impl Levels {
    /// The levels as of a print of this mix, by the place and key in which it agrees
    /// best; `None` where cells do not compare.
    pub(super) fn print(input: &LevelInput<'_>, told: &[Told]) -> Option<Self> {
        // Where it was limited, the same again with what a limiter turns down.
        let limited = |found: Self, reference: &Cells| {
            if found
                .print_spread_db
                .is_none_or(|db| !(SURE_PRINT_DB..=PRINT_SPREAD_DB).contains(&db))
            {
                return found;
            }
            let views = print_views(&input.scene.layout, reference, true);
            let input = LevelInput {
                reference,
                ..*input
            };
            Self {
                kind: found.kind,
                print_spread_db: found.print_spread_db,
                place: found.place,
                ..Self::fitted(&input, views, told.to_vec(), PRINT_BELIEF_DB)
            }
        };
        let as_print = |reference: &Cells| {
            let views = print_views(&input.scene.layout, reference, false);
            (!views.is_empty()).then(|| {
                let input = LevelInput {
                    reference,
                    ..*input
                };
                let mut found = Self::fitted(&input, views, told.to_vec(), PRINT_BELIEF_DB);
                found.kind = ReferenceKind::Print;
                found.print_spread_db = found.fit.view_spread_db.first().copied();
                found
            })
        };
        let spread_db = |found: &Self| found.print_spread_db.unwrap_or(f64::INFINITY);
        let mut best = as_print(input.reference)?;
        let Some(prints) = input.prints else {
            return Some(limited(best, input.reference));
        };
        let mut at = (0, 0);
        let mut there: Option<Cells> = None;
        let mut try_all = |best: &mut Self, at: &mut (i32, i32), places: &[(i32, i32)]| {
            for &(semitones, bars) in places {
                let cells = prints(semitones, bars);
                if let Some(found) = cells.as_ref().and_then(&as_print)
                    && spread_db(&found) < spread_db(best)
                {
                    (*best, *at) = (found, (semitones, bars));
                    there = cells;
                }
            }
        };
        try_all(&mut best, &mut at, &[(0, 0)]);
        if spread_db(&best) > SURE_PRINT_DB {
            try_all(
                &mut best,
                &mut at,
                &TRANSPOSED.map(|semitones| (semitones, 0)),
            );
            let semitones = at.0;
            try_all(&mut best, &mut at, &BARS_OFF.map(|bars| (semitones, bars)));
        }
        best.place = at;
        let found = limited(best, there.as_ref().unwrap_or(input.reference));
        Some(Self {
            matched: there,
            ..found
        })
    }
}
