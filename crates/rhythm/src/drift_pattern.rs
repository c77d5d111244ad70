//! What sounds within the beats, on the mean of all of them.

use crate::onset_bands::BANDS;
use crate::onset_curve::Onsets;

/// Parts of a beat.
const PARTS: usize = 16;
/// What a beat that is like the mean is worth, in strengths of an onset.
const WORTH: f64 = 4.0;

/// Onsets by band and part of the beat.
pub(crate) struct Pattern {
    /// Sums of rises up to each hop, by band.
    sums: Vec<[f32; BANDS]>,
    /// Weights, of mean 0 in each band.
    weights: [[f32; BANDS]; PARTS],
}

impl Pattern {
    /// The pattern of beats, given in hops; `None` where they tell nothing.
    pub(crate) fn of(curve: &Onsets, beats: &[usize]) -> Option<Self> {
        let mut sum = [0.0f32; BANDS];
        let mut sums = vec![sum];
        for hop in 0..curve.rises[0].len() {
            for (sum, rises) in sum.iter_mut().zip(&curve.rises) {
                *sum += rises[hop];
            }
            sums.push(sum);
        }
        let mut pattern = Self {
            sums,
            weights: [[0.0; BANDS]; PARTS],
        };
        for pair in beats.windows(2) {
            for part in 0..PARTS {
                let rises = pattern.part(pair[0], pair[1] - pair[0], part);
                for (weight, rise) in pattern.weights[part].iter_mut().zip(rises) {
                    *weight += rise;
                }
            }
        }
        for band in 0..BANDS {
            let mean = pattern.weights.iter().map(|w| w[band]).sum::<f32>() / PARTS as f32;
            let spread = pattern.weights.iter().map(|w| (w[band] - mean).powi(2));
            let spread = (spread.sum::<f32>() / PARTS as f32).sqrt().max(1e-6);
            for weights in &mut pattern.weights {
                weights[band] = (weights[band] - mean) / (spread + mean);
            }
        }
        let pairs = beats.windows(2);
        let all: f64 = pairs
            .map(|pair| pattern.fits(pair[0], pair[1] - pair[0]))
            .sum();
        let mean = all / beats.len().max(2) as f64;
        let scale = (WORTH / mean) as f32;
        pattern
            .weights
            .iter_mut()
            .flatten()
            .for_each(|weight| *weight *= scale);
        (mean > 1e-6).then_some(pattern)
    }

    /// Rises within a part of a beat; the first part lies about its start.
    fn part(&self, beat: usize, gap: usize, part: usize) -> [f32; BANDS] {
        let edge = |part: usize| {
            let hop = (2 * beat * PARTS + (2 * part + PARTS - 1) * gap) / (2 * PARTS);
            // half a part early; the files' start and end hold nothing
            hop.saturating_sub(gap / 2).min(self.sums.len() - 1)
        };
        let (from, to) = (&self.sums[edge(part)], &self.sums[edge(part + 1)]);
        std::array::from_fn(|band| to[band] - from[band])
    }

    /// How far what sounds from a beat on, a gap long, is like the mean; both in hops.
    pub(crate) fn fits(&self, beat: usize, gap: usize) -> f64 {
        let parts = self.weights.iter().enumerate();
        let sum: f32 = parts
            .map(|(part, weights)| {
                let rises = self.part(beat, gap, part);
                weights.iter().zip(rises).map(|(w, r)| w * r).sum::<f32>()
            })
            .sum();
        sum.into()
    }
}
