//! The bar map of several tracks with the cross-terms of every two.

use serde::{Deserialize, Serialize};

use crate::bar_map::{BarMap, Side};
use crate::cross_low::CrossLow;
use crate::rows::Row;

/// For every row, sixteenth and side the matrix of the tracks' real
/// cross-powers, averaged over the bars.
///
/// With gains `g` (amplitudes) the sum of the tracks has in a cell the power
/// `sum over i, j of g_i g_j C_ij`, exactly. A few MB for 24 tracks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CrossMap {
    /// Number of tracks.
    pub tracks: usize,
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Bars that were averaged.
    pub bars: usize,
    /// Rows, rising.
    pub rows: Vec<Row>,
    /// The low places, where the meter was told notes and kicks.
    pub low: Option<CrossLow>,
    /// By side, then by cell: upper triangles.
    sides: [Vec<f32>; 3],
    /// By bar, left and right: upper triangles; empty where not asked for.
    by_bar: Vec<f32>,
}

/// Number of pairs of tracks, each with itself too.
pub(crate) fn pairs(tracks: usize) -> usize {
    tracks * (tracks + 1) / 2
}

impl CrossMap {
    pub(crate) fn new(
        tracks: usize,
        (slots, bars): (usize, usize),
        rows: Vec<Row>,
        sides: [Vec<f32>; 3],
        (by_bar, low): (Vec<f32>, Option<CrossLow>),
    ) -> Self {
        Self {
            low,
            by_bar,
            tracks,
            slots,
            bars,
            rows,
            sides,
        }
    }

    /// Upper triangle of a cell's matrix, row by row: (0,0), (0,1), ..., (1,1),
    /// (1,2), ...; empty outside the map.
    pub fn triangle(&self, side: Side, row: usize, slot: usize) -> &[f32] {
        let side = match side {
            Side::Left => &self.sides[0],
            Side::Right => &self.sides[1],
            Side::Mid => &self.sides[2],
        };
        let count = pairs(self.tracks);
        let start = (row * self.slots + slot) * count;
        side.get(start..start + count).unwrap_or(&[])
    }

    /// Upper triangle of the left (`false`) or right (`true`) over one bar, all rows
    /// and sixteenths by the weights the meter was told; empty where it was told none.
    pub fn bar(&self, bar: usize, right: bool) -> &[f32] {
        let count = pairs(self.tracks);
        let start = (2 * bar + usize::from(right)) * count;
        self.by_bar.get(start..start + count).unwrap_or(&[])
    }

    /// Place of a pair in a triangle; the order of both does not matter.
    pub fn pair(&self, one: usize, other: usize) -> usize {
        let (i, j) = (one.min(other), one.max(other));
        i * self.tracks + j - i * (i + 1) / 2
    }

    /// Power in a cell of the sum of the tracks at gains (amplitudes, one a
    /// track); never negative.
    pub fn power(&self, side: Side, row: usize, slot: usize, gains: &[f64]) -> f64 {
        let triangle = self.triangle(side, row, slot);
        quadratic(triangle, self.tracks, gains).max(0.0)
    }

    /// What each track adds to a cell's power at gains: `g_i times the sum over j
    /// of g_j C_ij`. They add up to the power; a track that cancels others adds
    /// less than nothing. Half the slope of the power by the logarithm of gain.
    pub fn parts(&self, side: Side, row: usize, slot: usize, gains: &[f64]) -> Vec<f64> {
        let mut parts = vec![0.0; self.tracks];
        let mut values = self.triangle(side, row, slot).iter();
        for i in 0..self.tracks.min(gains.len()) {
            for j in i..self.tracks {
                let value = values.next().map_or(0.0, |&value| f64::from(value));
                let gain = gains.get(j).copied().unwrap_or(0.0);
                let product = gains[i] * gain * value;
                parts[i] += product;
                if j != i {
                    parts[j] += product;
                }
            }
        }
        parts
    }

    /// The bar map of the sum at gains; its spread is not known.
    pub fn sum(&self, gains: &[f64]) -> BarMap {
        let side = |side: Side| -> Vec<f32> {
            (0..self.rows.len() * self.slots)
                .map(|cell| self.power(side, cell / self.slots, cell % self.slots, gains) as f32)
                .collect()
        };
        BarMap {
            slots: self.slots,
            bars: self.bars,
            left: side(Side::Left),
            right: side(Side::Right),
            mid: side(Side::Mid),
            spread_db: vec![None; self.rows.len() * self.slots],
            rows: self.rows.clone(),
        }
    }

    /// The bar map of one track as it was pushed, or of several (an element):
    /// true with all cross-terms.
    pub fn of(&self, tracks: &[usize]) -> BarMap {
        let mut gains = vec![0.0; self.tracks];
        for &track in tracks {
            if let Some(gain) = gains.get_mut(track) {
                *gain = 1.0;
            }
        }
        self.sum(&gains)
    }
}

/// Power of a sum at gains from an upper triangle.
pub(crate) fn quadratic(triangle: &[f32], tracks: usize, gains: &[f64]) -> f64 {
    let mut values = triangle.iter();
    let mut sum = 0.0;
    for i in 0..tracks {
        let gain = gains.get(i).copied().unwrap_or(0.0);
        let mut row = 0.0;
        for j in i..tracks {
            let Some(&value) = values.next() else {
                return sum;
            };
            let twice = if j == i { 1.0 } else { 2.0 };
            row += twice * gains.get(j).copied().unwrap_or(0.0) * f64::from(value);
        }
        sum += gain * row;
    }
    sum
}
