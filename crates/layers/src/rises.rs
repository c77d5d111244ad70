//! What comes in at every sixteenth of two bars, on the average of the passage.
//!
//! Rises and falls of what does not repeat cancel; what repeats stays.

use crate::bands::BANDS;
use crate::fold::{Cell, STEPS};
use crate::strand::Strand;

/// Rows of a band: left, right and their difference at the start of a hit, then
/// what is left of it before the next sixteenth, and within the next one.
pub(crate) const VIEWS: usize = 5;
pub(crate) const ROWS: usize = BANDS * VIEWS;
/// Exponent of powers: between power, where only the loudest would count, and
/// the logarithm, where sounds would not add.
pub(crate) const EXPONENT: f32 = 0.35;

/// Rises by row and column.
#[derive(Clone, Debug)]
pub(crate) struct Rises {
    /// Sixteenths of two bars, or of one.
    pub(crate) columns: usize,
    /// Mean over the passage, never negative, row by row.
    pub(crate) mean: Vec<f32>,
    /// Signed, of every sixteenth of the passage, `ROWS` each.
    pub(crate) every: Vec<[f32; ROWS]>,
}

impl Rises {
    pub(crate) fn of(mix: &Strand) -> Self {
        let bars = if mix.bars >= 4 { 2 } else { 1 };
        let columns = bars * mix.slots;
        let slots = mix.bars * mix.slots;
        let every: Vec<[f32; ROWS]> = (0..slots).map(|slot| rises_at(mix, slot)).collect();
        let mut mean = vec![0.0f32; ROWS * columns];
        let mut counts = vec![0.0f32; columns];
        for (slot, rises) in every.iter().enumerate() {
            let column = slot % columns;
            counts[column] += 1.0;
            for (row, &rise) in rises.iter().enumerate() {
                mean[row * columns + column] += rise;
            }
        }
        for row in mean.chunks_mut(columns.max(1)) {
            for (x, count) in row.iter_mut().zip(&counts) {
                *x = (*x / count.max(1.0)).max(0.0);
            }
        }
        Self {
            columns,
            mean,
            every,
        }
    }
}

fn views(cell: &Cell) -> [f32; 3] {
    [
        0.5 * (cell.sum - cell.difference),
        0.5 * (cell.sum + cell.difference),
        0.5 * (cell.sum - 2.0 * cell.cross),
    ]
}

fn rises_at(mix: &Strand, slot: usize) -> [f32; ROWS] {
    let count = mix.cells.len();
    let at = slot * STEPS;
    let step = |ahead: usize| &mix.cells[(at + ahead) % count];
    let before = &mix.cells[(at + count - 2) % count];
    let mut rises = [0.0; ROWS];
    for band in 0..BANDS {
        let out = &mut rises[band * VIEWS..(band + 1) * VIEWS];
        let (first, second) = (views(&step(0)[band]), views(&step(1)[band]));
        for (view, was) in views(&before[band]).into_iter().enumerate() {
            out[view] = signed(first[view].max(second[view]) - was);
        }
        let was = before[band].sum;
        let kept = |range: std::ops::Range<usize>| {
            range
                .map(|ahead| step(ahead)[band].sum)
                .fold(f32::INFINITY, f32::min)
        };
        out[3] = signed(0.5 * (kept(2..4) - was));
        out[4] = signed(0.5 * (kept(4..8) - was));
    }
    rises
}

fn signed(power: f32) -> f32 {
    power.abs().powf(EXPONENT).copysign(power)
}
