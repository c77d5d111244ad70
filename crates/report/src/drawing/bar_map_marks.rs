//! The marks of a bar map: squares for energy, wedges for differences.

use super::bar_map::{ALIKE_DB, Shown};
use super::bar_map_grid::Grid;
use crate::svg::{Anchor, Svg};
use crate::view::BarMapRow;

/// Width of the line round a hollow mark.
const STROKE: f64 = 1.8;
/// A wedge fills its cell from here on.
const LARGEST_DB: f64 = 12.0;
/// Rows this far below the loudest row are left empty.
const DEEPEST_DB: f64 = 80.0;
/// A square narrows to nothing this far below the loudest of its row.
const DEPTH_DB: f64 = 24.0;
/// Squares of one side; both sides of a row share its scale.
pub(super) fn squares(svg: &mut Svg, grid: &Grid, shown: &Shown, of_reference: bool) {
    let top_of = |row: &BarMapRow| {
        row.mix_db
            .iter()
            .chain(&row.reference_db)
            .flatten()
            .copied()
            .reduce(f64::max)
    };
    let largest = grid.largest() - if of_reference { STROKE } else { 0.0 };
    let highest = shown
        .rows
        .iter()
        .filter_map(top_of)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut boxes = Vec::new();
    for (index, row) in shown.rows.iter().enumerate() {
        let Some(top) = top_of(row).filter(|top| *top > highest - DEEPEST_DB) else {
            continue;
        };
        let levels = if of_reference {
            &row.reference_db
        } else {
            &row.mix_db
        };
        for (slot, level) in levels.iter().enumerate().take(grid.slots) {
            let part = level.map_or(0.0, |level| 1.0 - (top - level) / DEPTH_DB);
            let side = part * largest;
            if side >= 1.0 {
                let (x, y) = grid.centre(index, slot);
                boxes.push([x - side / 2.0, y - side / 2.0, side, side]);
            }
        }
    }
    svg.boxes(
        if of_reference {
            "reference-mark"
        } else {
            "mix-mark"
        },
        &boxes,
    );
}

/// Wedges up where the mix has more, down where it has less; figures for the
/// whole bar.
pub(super) fn wedges(svg: &mut Svg, grid: &Grid, shown: &Shown, gutter: f64) {
    let (mut more, mut less, mut other) = (Vec::new(), Vec::new(), Vec::new());
    for (index, row) in shown.rows.iter().enumerate() {
        for (slot, difference) in row.difference_db.iter().enumerate() {
            let Some(difference) = *difference else {
                continue;
            };
            let (x, y) = grid.centre(index, slot);
            if difference.abs() < ALIKE_DB {
                svg.disc("before-mark", (x, y), 0.8);
                continue;
            }
            let part = (difference.abs() / LARGEST_DB).min(1.0);
            let half = 0.5 * grid.largest() * (0.25 + 0.75 * part);
            let tip = if difference > 0.0 { -half } else { half };
            let wedge = [(x - half, y - tip), (x + half, y - tip), (x, y + tip)];
            match (row.arrangement[slot], difference > 0.0) {
                (true, _) => other.push(wedge),
                (_, true) => more.push(wedge),
                (_, false) => less.push(wedge),
            }
        }
        if let Some(whole) = row.whole_db {
            let (_, y) = grid.centre(index, 0);
            let words = if whole.abs() < 0.05 {
                "0.0".to_owned()
            } else {
                format!("{whole:+.1}")
            };
            svg.text(
                "small",
                Anchor::End,
                (grid.right() + gutter - 4.0, y + 4.3),
                &words,
            );
        }
    }
    svg.triangles("mix-wedge", &more);
    svg.triangles("reference-wedge", &less);
    svg.triangles("other-wedge", &other);
    svg.text(
        "quiet",
        Anchor::End,
        (grid.right() + gutter - 4.0, grid.top - 9.0),
        "dB",
    );
}
