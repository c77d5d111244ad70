//! The bar map itself.

use serde::{Deserialize, Serialize};

use crate::bar_map_json::BarMapJson;
use crate::rows::Row;

/// Powers below this (-140 dB) are silence.
pub(crate) const SILENCE: f64 = 1e-14;

/// What of a stereo file is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The left channel.
    Left,
    /// The right channel.
    Right,
    /// Half the sum of both.
    Mid,
}

impl Side {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Left, Self::Right, Self::Mid];
}

/// Energy by row and sixteenth of the bar, averaged over the bars.
///
/// Powers are mean squares of what a row holds of a sixteenth, 1.0 = full scale;
/// cell of a row and slot: `row * slots + slot`. As JSON the powers are decibels
/// to 0.1, null for silence (below -140 dB).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "BarMapJson", into = "BarMapJson")]
pub struct BarMap {
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Bars that were averaged.
    pub bars: usize,
    /// Rows, rising.
    pub rows: Vec<Row>,
    /// Power of left by cell.
    pub left: Vec<f32>,
    /// Power of right by cell.
    pub right: Vec<f32>,
    /// Power of mid by cell.
    pub mid: Vec<f32>,
    /// Standard deviation over the bars of the level, by cell; a bar counts with
    /// 30 dB below the cell's mean at least. `None` for silence.
    pub spread_db: Vec<Option<f32>>,
}

impl BarMap {
    /// Power of a cell on one side; 0 outside the map.
    pub fn power(&self, side: Side, row: usize, slot: usize) -> f64 {
        let powers = match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
            Side::Mid => &self.mid,
        };
        self.cell(row, slot)
            .and_then(|cell| powers.get(cell))
            .map_or(0.0, |&power| power.into())
    }

    /// Mean power of left and right in a cell; 0 outside the map.
    pub fn mean(&self, row: usize, slot: usize) -> f64 {
        0.5 * (self.power(Side::Left, row, slot) + self.power(Side::Right, row, slot))
    }

    /// Mean of [`Self::mean`] over the bar.
    pub fn row_mean(&self, row: usize) -> f64 {
        let sum: f64 = (0..self.slots).map(|slot| self.mean(row, slot)).sum();
        sum / self.slots.max(1) as f64
    }

    /// Mean power of the whole map: the sum over rows, averaged over the bar.
    pub fn total(&self) -> f64 {
        (0..self.rows.len()).map(|row| self.row_mean(row)).sum()
    }

    /// [`Self::mean`] in dB; `None` for silence.
    pub fn level_db(&self, row: usize, slot: usize) -> Option<f64> {
        power_db(self.mean(row, slot))
    }

    /// The map at another gain.
    pub fn scaled(&self, gain_db: f64) -> Self {
        let gain = 10f64.powf(gain_db / 10.0) as f32;
        let mut map = self.clone();
        for power in [&mut map.left, &mut map.right, &mut map.mid] {
            power.iter_mut().for_each(|power| *power *= gain);
        }
        map
    }

    /// The map as it comes back from JSON: levels to 0.1 dB.
    pub fn rounded(self) -> Self {
        BarMapJson::from(self).into()
    }

    /// Adds the powers of another map of the same rows, slots and bars; `false`,
    /// and nothing done, where they differ.
    ///
    /// Right only for tracks that have nothing to do with each other: two layers
    /// of one kick differ by up to 3 dB and more from it. Where tracks are heard
    /// together, [`CrossMap`](crate::CrossMap) knows their cross-terms. The
    /// spread is an estimate: both spreads, weighed by power.
    pub fn add(&mut self, other: &Self) -> bool {
        let alike = self.slots == other.slots && self.bars == other.bars && self.rows == other.rows;
        if !alike {
            return false;
        }
        for cell in 0..self.spread_db.len() {
            let power = |map: &Self| f64::from(map.left[cell]) + f64::from(map.right[cell]);
            let swing = |map: &Self| power(map) * f64::from(map.spread_db[cell].unwrap_or(0.0));
            let sum = power(self) + power(other);
            self.spread_db[cell] =
                (sum > 2.0 * SILENCE).then(|| (swing(self).hypot(swing(other)) / sum) as f32);
        }
        for (powers, more) in [
            (&mut self.left, &other.left),
            (&mut self.right, &other.right),
            (&mut self.mid, &other.mid),
        ] {
            powers
                .iter_mut()
                .zip(more)
                .for_each(|(power, more)| *power += more);
        }
        true
    }

    fn cell(&self, row: usize, slot: usize) -> Option<usize> {
        (slot < self.slots).then_some(row * self.slots + slot)
    }
}

/// Decibels of a power; `None` for silence.
pub(crate) fn power_db(power: f64) -> Option<f64> {
    (power > SILENCE).then(|| 10.0 * power.log10())
}
