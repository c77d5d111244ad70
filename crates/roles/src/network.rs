//! The classifiers: small networks of one hidden layer, averaged; one for tracks
//! and one for files of a single sound.
//!
//! `network.bin` is written by `fit/fit.py` from tracks that `fit/make_tracks.py`
//! made (seeds 1, 11 and 21: synthesis, one-shots and sound fonts of Debian
//! packages, speech made to sing) and from demo sessions of eight styles (seeds 1
//! to 6). `singles.bin` is written by `fit/fit_singles.py` from such tracks of one or
//! two hits and from every recorded sound as a file of its own
//! (`fit/make_singles.py`); its sureness is set on libraries left out as a whole.
//! Recorded sessions and one-shots only judge them (`fit/judge.py`).
//!
//! The files hold, little-endian: by how much tracks of few hits are told less
//! surely, `f32` (`network.bin` only); the middle and the inverse spread of every figure as `f32`; then for
//! each network its two layers, weights row by row and then offsets, each as an
//! `f32` step and `i16` multiples of it. The temperature that makes probabilities
//! hold (Guo et al., "On Calibration of Modern Neural Networks", ICML 2017) is in
//! the last layer.

use crate::timbre_features::FEATURES;
use cupel_units::Role;

/// Networks of one hidden layer that are averaged.
struct Networks {
    table: &'static [u8],
    hidden: usize,
    count: usize,
}

const TRACKS: Networks = Networks {
    table: include_bytes!("network.bin"),
    hidden: 48,
    count: 5,
};
const SINGLES: Networks = Networks {
    table: include_bytes!("singles.bin"),
    hidden: 64,
    count: 5,
};
/// Figures are held within this many spreads of their middle.
const LIMIT: f32 = 4.0;

/// What kind of file the figures are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Track,
    /// A track of one or two hits.
    FewHits,
    /// One or two hits in a short file.
    Single,
}

/// A probability for every role, in the order of [`Role::ALL`]; they add up to 1.
/// `None` where the figures are not those of a sound.
pub(crate) fn probabilities(figures: &[f32], kind: Kind) -> Option<Vec<f64>> {
    if figures.len() != FEATURES {
        return None;
    }
    let networks = match kind {
        Kind::Single => SINGLES,
        Kind::Track | Kind::FewHits => TRACKS,
    };
    let mut table = Table {
        bytes: networks.table,
    };
    let spread = match kind {
        Kind::Single => 1.0,
        Kind::Track | Kind::FewHits => *table.floats(1)?.first()?,
    };
    let middle = table.floats(FEATURES)?;
    let inverse = table.floats(FEATURES)?;
    let inputs: Vec<f32> = figures
        .iter()
        .zip(middle.iter().zip(&inverse))
        .map(|(figure, (middle, inverse))| ((figure - middle) * inverse).clamp(-LIMIT, LIMIT))
        .collect();
    let mut sums = vec![0.0f32; Role::ALL.len()];
    for _ in 0..networks.count {
        let mut hidden = table.layer(&inputs, networks.hidden)?;
        hidden.iter_mut().for_each(|value| *value = value.max(0.0));
        let outputs = table.layer(&hidden, sums.len())?;
        sums.iter_mut()
            .zip(outputs)
            .for_each(|(sum, output)| *sum += output);
    }
    if kind == Kind::FewHits {
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
    fn the_tables_are_read_to_their_end() {
        for (networks, head) in [(TRACKS, 1), (SINGLES, 0)] {
            let mut table = Table {
                bytes: networks.table,
            };
            table.floats(head + 2 * FEATURES).unwrap();
            for _ in 0..networks.count {
                table.layer(&[0.0; FEATURES], networks.hidden).unwrap();
                let hidden = vec![0.0; networks.hidden];
                table.layer(&hidden, Role::ALL.len()).unwrap();
            }
            assert!(table.bytes.is_empty());
        }
    }

    #[test]
    fn probabilities_add_up() {
        for kind in [Kind::Track, Kind::FewHits, Kind::Single] {
            let found = probabilities(&[0.5; FEATURES], kind).unwrap();
            assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        }
        assert!(probabilities(&[0.5; 3], Kind::Track).is_none());
    }
}
