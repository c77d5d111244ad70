//! The sound of a passage over its bars, as it is kept.

use serde::{Deserialize, Serialize};

use crate::bands::BANDS;

/// Steps in a sixteenth.
pub(crate) const STEPS: usize = 4;
/// Code of full scale; a step of a code is 0.5 dB.
const TOP: f32 = 235.0;
const CODES_PER_DECADE: f32 = 20.0;

/// Powers of a band in a step; `sum` is left plus right, `difference` right minus
/// left, `cross` the product of both.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Cell {
    pub(crate) sum: f32,
    pub(crate) difference: f32,
    pub(crate) cross: f32,
}

/// What a passage sounds like over its bars: power by bar, quarter of a sixteenth
/// and band, with its place in stereo. Some 80 kB for 16 bars.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FoldedSound {
    pub(crate) slots: u16,
    pub(crate) bars: u16,
    /// Mean length of a bar.
    pub(crate) bar_s: f32,
    /// Bar lines, seconds.
    pub(crate) bar_starts_s: Vec<f64>,
    /// Power left plus right by bar, step and band, 0.5 dB a code; 0 is silence.
    pub(crate) powers: Vec<u8>,
    /// Right minus left over their sum, -1 to 1 as -127 to 127.
    pub(crate) sides: Vec<i8>,
    /// Correlation of the channels times their balance, -1 to 1 likewise.
    pub(crate) crosses: Vec<i8>,
}

impl FoldedSound {
    pub(crate) fn pack(
        cells: &[[Cell; BANDS]],
        slots: usize,
        bars: usize,
        bar_starts_s: Vec<f64>,
    ) -> Self {
        let all = || cells.iter().flatten();
        let small = |x: f32, sum: f32| {
            if sum <= 0.0 {
                return 0;
            }
            (127.0 * (x / sum).clamp(-1.0, 1.0)).round() as i8
        };
        let length_s = match (bar_starts_s.first(), bar_starts_s.last()) {
            (Some(first), Some(last)) => last - first,
            _ => 0.0,
        };
        Self {
            slots: u16::try_from(slots).unwrap_or(u16::MAX),
            bars: u16::try_from(bars).unwrap_or(u16::MAX),
            bar_s: (length_s / bars.max(1) as f64) as f32,
            bar_starts_s,
            powers: all().map(|cell| code(cell.sum)).collect(),
            sides: all().map(|cell| small(cell.difference, cell.sum)).collect(),
            crosses: all()
                .map(|cell| small(2.0 * cell.cross, cell.sum))
                .collect(),
        }
    }

    /// Bars folded.
    pub fn bars(&self) -> usize {
        usize::from(self.bars)
    }

    /// Sixteenths in a bar.
    pub fn slots(&self) -> usize {
        usize::from(self.slots)
    }

    /// Bar lines of the passage, seconds, one more than there are bars.
    pub fn bar_starts_s(&self) -> &[f64] {
        &self.bar_starts_s
    }

    /// Steps in a bar.
    pub(crate) fn steps(&self) -> usize {
        self.slots() * STEPS
    }

    /// Length of a step.
    pub(crate) fn step_s(&self) -> f64 {
        f64::from(self.bar_s) / self.steps().max(1) as f64
    }

    /// Everything as numbers again, by bar and step.
    pub(crate) fn cells(&self) -> Vec<[Cell; BANDS]> {
        let table: Vec<f32> = (0..=255).map(decode).collect();
        let count = self.bars() * self.steps();
        let mut cells = vec![[Cell::default(); BANDS]; count];
        let codes = self.powers.iter().zip(&self.sides).zip(&self.crosses);
        for (cell, ((&power, &side), &cross)) in cells.iter_mut().flatten().zip(codes) {
            cell.sum = table[usize::from(power)];
            cell.difference = cell.sum * f32::from(side) / 127.0;
            cell.cross = 0.5 * cell.sum * f32::from(cross) / 127.0;
        }
        cells
    }

    /// The folds of several sounds of one passage, added by power; `None` where
    /// there are none or their bars differ.
    pub fn sum(folds: &[&FoldedSound]) -> Option<FoldedSound> {
        let (first, rest) = folds.split_first()?;
        let mut cells = first.cells();
        for fold in rest {
            if fold.bars != first.bars || fold.slots != first.slots {
                return None;
            }
            for (to, from) in cells
                .iter_mut()
                .flatten()
                .zip(fold.cells().iter().flatten())
            {
                to.sum += from.sum;
                to.difference += from.difference;
                to.cross += from.cross;
            }
        }
        Some(Self::pack(
            &cells,
            first.slots(),
            first.bars(),
            first.bar_starts_s.clone(),
        ))
    }
}

fn code(power: f32) -> u8 {
    if power <= 0.0 {
        return 0;
    }
    (TOP + CODES_PER_DECADE * power.log10())
        .round()
        .clamp(0.0, 255.0) as u8
}

fn decode(code: u8) -> f32 {
    if code == 0 {
        return 0.0;
    }
    10f32.powf((f32::from(code) - TOP) / CODES_PER_DECADE)
}
