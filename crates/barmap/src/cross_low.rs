//! Cross-powers of several tracks in the low places.

use serde::{Deserialize, Serialize};

use crate::cross_map::{pairs, quadratic};
use crate::low_place::LowPlace;
use crate::low_reading::{LowCell, LowReading, hold_above_smear};

/// For every low place and sixteenth the matrix of the tracks' real
/// cross-powers (mean of left and right), averaged over the bars in which the
/// place was read around the guide's notes and kicks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CrossLow {
    tracks: usize,
    slots: usize,
    /// Bars read, by place and slot.
    bars: Vec<usize>,
    /// Upper triangles by place and slot: sums while measuring, then means.
    values: Vec<f32>,
}

impl CrossLow {
    pub(crate) fn new(tracks: usize, slots: usize) -> Self {
        let cells = LowPlace::ALL.len() * slots;
        Self {
            tracks,
            slots,
            bars: vec![0; cells],
            values: vec![0.0; cells * pairs(tracks)],
        }
    }

    /// Counts a bar, and gives the cell's sums to add to.
    pub(crate) fn take(&mut self, place: LowPlace, slot: usize) -> &mut [f32] {
        let cell = place as usize * self.slots + slot;
        self.bars[cell] += 1;
        let count = pairs(self.tracks);
        &mut self.values[cell * count..(cell + 1) * count]
    }

    /// Sums become means.
    pub(crate) fn finish(&mut self) {
        let count = pairs(self.tracks).max(1);
        for (values, &bars) in self.values.chunks_mut(count).zip(&self.bars) {
            values
                .iter_mut()
                .for_each(|value| *value /= bars.max(1) as f32);
        }
    }

    /// Bars in which a place was read in a slot.
    pub fn bars(&self, place: LowPlace, slot: usize) -> usize {
        let cell = place as usize * self.slots + slot;
        self.bars.get(cell).copied().unwrap_or(0)
    }

    /// Upper triangle of a cell's matrix, laid out as in
    /// [`CrossMap::triangle`](crate::CrossMap::triangle).
    pub fn triangle(&self, place: LowPlace, slot: usize) -> &[f32] {
        let count = pairs(self.tracks);
        let start = (place as usize * self.slots + slot) * count;
        self.values.get(start..start + count).unwrap_or(&[])
    }

    /// The low reading of the sum of the tracks at gains (amplitudes). As
    /// [`LowReading::of`] has it, but held above the smear by the means over the
    /// bars, not bar by bar.
    pub fn reading(&self, gains: &[f64]) -> LowReading {
        let mut cells = vec![vec![LowCell::default(); self.slots]; LowPlace::ALL.len()];
        let by_slot = (0..self.slots).map(|slot| self.powers(slot, gains));
        for (slot, powers) in by_slot.enumerate() {
            for (place, power) in powers {
                let bars = self.bars(place, slot);
                cells[place as usize][slot] = LowCell { power, bars };
            }
        }
        LowReading {
            slots: self.slots,
            cells,
        }
    }

    /// What was read of a slot, held above the smear.
    fn powers(&self, slot: usize, gains: &[f64]) -> Vec<(LowPlace, f64)> {
        let read = LowPlace::ALL
            .into_iter()
            .filter(|&place| self.bars(place, slot) > 0);
        let mut powers: Vec<(LowPlace, f64)> = read
            .map(|place| {
                let power = quadratic(self.triangle(place, slot), self.tracks, gains);
                (place, power.max(0.0))
            })
            .collect();
        hold_above_smear(&mut powers);
        powers
    }
}
