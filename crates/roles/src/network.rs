//! The classifier: small networks of one hidden layer, averaged.
//!
//! `network.bin` is written by `fit/fit.py` from tracks that `fit/make_tracks.py`
//! made (seeds 1, 11 and 21: synthesis, one-shots and sound fonts of Debian
//! packages, speech made to sing) and from demo sessions of eight styles (seeds 1
//! to 6). Recorded sessions and one-shots only judge it (`fit/judge.py`).
//!
//! The file holds, little-endian: by how much single sounds are told less surely,
//! `f32`; the middle and the inverse spread of every figure as `f32`; then for
//! each network its two layers, weights row by row and then offsets, each as an
//! `f32` step and `i16` multiples of it. The temperature that makes probabilities
//! hold (Guo et al., "On Calibration of Modern Neural Networks", ICML 2017) is in
//! the last layer.

use crate::timbre_features::FEATURES;
use cupel_units::Role;

const TABLE: &[u8] = include_bytes!("network.bin");
const HIDDEN: usize = 48;
const NETWORKS: usize = 5;
/// Figures are held within this many spreads of their middle.
const LIMIT: f32 = 4.0;

/// A probability for every role, in the order of [`Role::ALL`]; they add up to 1.
/// `single` for a file of one or two hits. `None` where the figures are not those
/// of a sound.
pub(crate) fn probabilities(figures: &[f32], single: bool) -> Option<Vec<f64>> {
    if figures.len() != FEATURES {
        return None;
    }
    let mut table = Table { bytes: TABLE };
    let spread = *table.floats(1)?.first()?;
    let middle = table.floats(FEATURES)?;
    let inverse = table.floats(FEATURES)?;
    let inputs: Vec<f32> = figures
        .iter()
        .zip(middle.iter().zip(&inverse))
        .map(|(figure, (middle, inverse))| ((figure - middle) * inverse).clamp(-LIMIT, LIMIT))
        .collect();
    let mut sums = vec![0.0f32; Role::ALL.len()];
    for _ in 0..NETWORKS {
        let mut hidden = table.layer(&inputs, HIDDEN)?;
        hidden.iter_mut().for_each(|value| *value = value.max(0.0));
        let outputs = table.layer(&hidden, sums.len())?;
        sums.iter_mut()
            .zip(outputs)
            .for_each(|(sum, output)| *sum += output);
    }
    if single {
        sums.iter_mut().for_each(|sum| *sum /= spread);
    }
    let highest = sums.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let weights: Vec<f64> = sums
        .iter()
        .map(|sum| f64::from(sum - highest).exp())
        .collect();
    let total: f64 = weights.iter().sum();
    total
        .is_finite()
        .then(|| weights.iter().map(|weight| weight / total).collect())
}

/// What is left of the table to read.
struct Table<'a> {
    bytes: &'a [u8],
}

impl Table<'_> {
    fn floats(&mut self, count: usize) -> Option<Vec<f32>> {
        let (now, rest) = self.bytes.split_at_checked(4 * count)?;
        self.bytes = rest;
        let words = now.as_chunks::<4>().0;
        Some(words.iter().map(|&word| f32::from_le_bytes(word)).collect())
    }

    fn steps(&mut self, count: usize) -> Option<Vec<f32>> {
        let step = *self.floats(1)?.first()?;
        let (now, rest) = self.bytes.split_at_checked(2 * count)?;
        self.bytes = rest;
        let words = now.as_chunks::<2>().0;
        Some(
            words
                .iter()
                .map(|&word| step * f32::from(i16::from_le_bytes(word)))
                .collect(),
        )
    }

    /// The next layer at work on `inputs`.
    fn layer(&mut self, inputs: &[f32], outputs: usize) -> Option<Vec<f32>> {
        let weights = self.steps(inputs.len() * outputs)?;
        let offsets = self.steps(outputs)?;
        let dot = |row: &[f32]| row.iter().zip(inputs).map(|(w, x)| w * x).sum::<f32>();
        let rows = weights.chunks_exact(inputs.len());
        Some(
            rows.zip(offsets)
                .map(|(row, offset)| dot(row) + offset)
                .collect(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_read_to_its_end() {
        let mut table = Table { bytes: TABLE };
        table.floats(1 + 2 * FEATURES).unwrap();
        for _ in 0..NETWORKS {
            table.layer(&[0.0; FEATURES], HIDDEN).unwrap();
            table.layer(&[0.0; HIDDEN], Role::ALL.len()).unwrap();
        }
        assert!(table.bytes.is_empty());
    }

    #[test]
    fn probabilities_add_up() {
        for single in [false, true] {
            let found = probabilities(&[0.5; FEATURES], single).unwrap();
            assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        }
        assert!(probabilities(&[0.5; 3], false).is_none());
    }
}
