//! The low end at a lower rate, for long frames that cost little.
//!
//! A symmetrical low-pass (Kaiser window; Kaiser, "Nonrecursive digital filter
//! design using the I0-sinh window function", 1974) keeps 0 to 282 Hz and
//! rejects what would fold into it, from 2474 Hz on (at 44.1 kHz; others later), by over 80 dB. Only that
//! low end is used after it, and its known droop is taken out of every bin.

use crate::kaiser::kaiser_sinc;
use crate::wide::wide;
use std::f64::consts::PI;

/// Length of the filter in samples kept.
const KEPT_SAMPLES: usize = 7;
const BETA: f64 = 8.7;
const LANES: usize = 8;

#[derive(Clone, Debug)]
pub(crate) struct Decimator {
    factor: usize,
    taps: Vec<f32>,
    history: Vec<f32>,
}

impl Decimator {
    /// Keeps one sample in `factor`.
    pub fn new(factor: usize) -> Self {
        let length = KEPT_SAMPLES * factor;
        let mut taps = kaiser_sinc(length, 0.5 / factor as f64, BETA);
        let sum: f64 = taps.iter().sum();
        taps.iter_mut().for_each(|tap| *tap /= sum);
        Self {
            factor,
            taps: taps.iter().map(|&tap| tap as f32).collect(),
            history: vec![0.0; length - factor],
        }
    }

    /// Filters a block (a multiple of the factor) and appends the samples kept.
    pub fn process(&mut self, block: &[f32], out: &mut Vec<f32>) {
        let kept = self.history.len();
        self.history.extend_from_slice(block);
        filter(&self.history, &self.taps, self.factor, out);
        self.history.copy_within(block.len().., 0);
        self.history.truncate(kept);
    }

    /// Power gain of the filter at a frequency given as a part of the full rate.
    pub fn power_gain(&self, frequency: f64) -> f64 {
        let centre = (self.taps.len() - 1) as f64 / 2.0;
        let gain: f64 = self
            .taps
            .iter()
            .enumerate()
            .map(|(n, &tap)| f64::from(tap) * (2.0 * PI * frequency * (n as f64 - centre)).cos())
            .sum();
        gain * gain
    }
}

wide! {
    fn filter(samples: &[f32], taps: &[f32], factor: usize, out: &mut Vec<f32>) {
        for window in samples.windows(taps.len()).step_by(factor) {
            let mut lanes = [0.0f32; LANES];
            let (x, h) = (window.chunks_exact(LANES), taps.chunks_exact(LANES));
            let rest = x.remainder().iter().zip(h.remainder());
            for (x, h) in x.zip(h) {
                for lane in 0..LANES {
                    lanes[lane] += x[lane] * h[lane];
                }
            }
            out.push(lanes.iter().sum::<f32>() + rest.map(|(x, h)| x * h).sum::<f32>());
        }
    }
}
