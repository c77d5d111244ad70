//! The low end at a lower rate, for long frames that cost little.
//!
//! A symmetrical low-pass (Kaiser window; Kaiser, "Nonrecursive digital filter
//! design using the I0-sinh window function", 1974) keeps 0 to 300 Hz and
//! rejects what would fold into it. Only the low end is used after it, and its
//! known droop is taken out of every bin.

use crate::kaiser::kaiser_sinc;
use std::f64::consts::PI;

const TAPS: usize = 8 * 16;
const BETA: f64 = 10.0;

#[derive(Clone, Debug)]
pub(crate) struct Decimator {
    factor: usize,
    taps: Vec<f32>,
    history: Vec<f32>,
}

impl Decimator {
    /// Keeps one sample in `factor`; 16 taps-lengths of the factor a filter.
    pub fn new(factor: usize) -> Self {
        let length = TAPS * factor / 16;
        let cutoff = 0.5 / factor as f64;
        let mut taps = kaiser_sinc(length, cutoff, BETA);
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
        let windows = self.history.windows(self.taps.len()).step_by(self.factor);
        out.extend(windows.map(|window| dot(window, &self.taps)));
        let used = self.history.len() - kept;
        self.history.copy_within(used.., 0);
        self.history.truncate(kept);
    }

    /// Power gain of the filter at a frequency given as a part of the full rate.
    pub fn power_gain(&self, frequency: f64) -> f64 {
        let centre = (self.taps.len() - 1) as f64 / 2.0;
        let gain: f64 = (0..self.taps.len())
            .map(|n| f64::from(self.taps[n]) * (2.0 * PI * frequency * (n as f64 - centre)).cos())
            .sum();
        gain * gain
    }
}

fn dot(samples: &[f32], taps: &[f32]) -> f32 {
    let mut lanes = [0.0f32; 16];
    for (x, h) in samples.chunks_exact(16).zip(taps.chunks_exact(16)) {
        for lane in 0..16 {
            lanes[lane] += x[lane] * h[lane];
        }
    }
    let tail = taps.len() / 16 * 16;
    let rest: f32 = samples[tail..]
        .iter()
        .zip(&taps[tail..])
        .map(|(x, h)| x * h)
        .sum();
    lanes.iter().sum::<f32>() + rest
}
