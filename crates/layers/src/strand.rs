//! The sound of one layer, loudness-weighted, by bar, step and band.

use crate::bands::{BANDS, weights};
use crate::fold::{Cell, FoldedSound, STEPS};

/// One sound by itself.
#[derive(Clone, Debug)]
pub(crate) struct Strand {
    pub(crate) slots: usize,
    pub(crate) bars: usize,
    pub(crate) step_s: f64,
    pub(crate) cells: Vec<[Cell; BANDS]>,
}

impl Strand {
    /// A fold with the weights of loudness.
    pub(crate) fn of(fold: &FoldedSound) -> Self {
        let weights = weights();
        let mut cells = fold.cells();
        for bands in &mut cells {
            for (cell, weight) in bands.iter_mut().zip(&weights) {
                cell.sum *= weight;
                cell.difference *= weight;
                cell.cross *= weight;
            }
        }
        Self {
            slots: fold.slots(),
            bars: fold.bars(),
            step_s: fold.step_s(),
            cells,
        }
    }

    pub(crate) fn steps(&self) -> usize {
        self.slots * STEPS
    }

    /// Power of all bands by bar and step.
    pub(crate) fn curve(&self) -> Vec<f32> {
        self.cells
            .iter()
            .map(|bands| bands.iter().map(|cell| cell.sum).sum())
            .collect()
    }

    /// Power that comes in at the start of every sixteenth, by bar and sixteenth;
    /// and what is heard there in all.
    pub(crate) fn onsets(&self) -> Vec<([f32; BANDS], f32)> {
        let count = self.cells.len();
        (0..count / STEPS)
            .map(|slot| {
                let at = slot * STEPS;
                let before = &self.cells[(at + count - 2) % count];
                let (first, second) = (&self.cells[at], &self.cells[at + 1]);
                let mut rises = [0.0; BANDS];
                let mut heard = 0.0;
                for band in 0..BANDS {
                    let now = first[band].sum.max(second[band].sum);
                    rises[band] = (now - before[band].sum).max(0.0);
                    heard += now;
                }
                (rises, heard)
            })
            .collect()
    }
}
