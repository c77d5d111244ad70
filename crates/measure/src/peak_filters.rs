//! The interpolation filters of the true-peak meter: windowed sincs.

use crate::kaiser::{kaiser, sinc};
use crate::wide::wide;
use std::sync::LazyLock;

/// Samples on each side of the half-way filter.
pub(crate) const HALF: usize = 12;
const HALF_BETA: f64 = 5.0;
/// Steps between two samples.
pub(crate) const STEPS: usize = 16;
/// Samples on each side of the filter that climbs.
pub(crate) const MEDIUM_REACH: usize = 32;
/// Samples on each side of the filter that decides; its gain is flat to 0.498
/// of the sample rate.
pub(crate) const PRECISE_REACH: usize = 512;
/// Stop band of 60 dB, by Kaiser's formula.
const BETA: f64 = 5.65;

#[derive(Debug)]
pub(crate) struct PeakFilters {
    /// One half of the symmetrical half-way filter.
    pub half: [f32; HALF],
    /// Largest possible half-way value for samples within one.
    pub half_gain: f32,
    /// Filters for `1..STEPS` sixteenths after a sample.
    pub medium: Vec<Vec<f32>>,
    /// As `medium`, much longer.
    pub precise: Vec<Vec<f32>>,
}

impl PeakFilters {
    pub fn shared() -> &'static Self {
        static FILTERS: LazyLock<PeakFilters> = LazyLock::new(PeakFilters::new);
        &FILTERS
    }

    fn new() -> Self {
        let half = half_taps();
        Self {
            half,
            half_gain: 2.0 * half.iter().map(|tap| tap.abs()).sum::<f32>(),
            medium: (1..STEPS).map(|step| taps(step, MEDIUM_REACH)).collect(),
            precise: (1..STEPS).map(|step| taps(step, PRECISE_REACH)).collect(),
        }
    }
}

fn half_taps() -> [f32; HALF] {
    let tap = |k: usize| {
        let offset = k as f64 + 0.5;
        sinc(offset) * kaiser(offset / HALF as f64, HALF_BETA)
    };
    let sum: f64 = 2.0 * (0..HALF).map(tap).sum::<f64>();
    std::array::from_fn(|k| (tap(k) / sum) as f32)
}

/// The filter for `step` sixteenths after sample `reach - 1` of its window.
fn taps(step: usize, reach: usize) -> Vec<f32> {
    let fraction = step as f64 / STEPS as f64;
    let tap = |k: usize| {
        let offset = k as f64 + 1.0 - reach as f64 - fraction;
        sinc(offset) * kaiser(offset / reach as f64, BETA)
    };
    let sum: f64 = (0..2 * reach).map(tap).sum();
    (0..2 * reach).map(|k| (tap(k) / sum) as f32).collect()
}

wide! {
    /// The sum of products; lengths are equal and multiples of 16.
    pub(crate) fn dot(samples: &[f32], taps: &[f32]) -> f32 {
        let mut lanes = [0.0f32; 16];
        for (x, h) in samples.chunks_exact(16).zip(taps.chunks_exact(16)) {
            for lane in 0..16 {
                lanes[lane] += x[lane] * h[lane];
            }
        }
        lanes.iter().sum()
    }
}
