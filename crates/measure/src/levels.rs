//! Peaks and mean squares of blocks.

use crate::pair_power::PairPower;

const LANES: usize = 4;

/// Samples beyond this (+120 dBFS) are held to it.
pub(crate) const LARGEST_SAMPLE: f64 = 1e6;

/// Sums of squares and products, and peaks, of two sides.
#[derive(Clone, Debug, Default)]
pub(crate) struct Levels {
    energy: PairPower,
    peaks: [f64; 2],
}

impl Levels {
    /// Adds one block of both sides; gives the peaks of the block.
    pub fn push(&mut self, left: &[f64], right: &[f64]) -> [f64; 2] {
        let products = |a: &[f64], b: &[f64]| dot(a, b);
        self.energy = self.energy.plus(PairPower {
            left: products(left, left),
            right: products(right, right),
            cross: products(left, right),
        });
        let peaks = [peak(left), peak(right)];
        for (largest, peak) in self.peaks.iter_mut().zip(peaks) {
            *largest = largest.max(peak);
        }
        peaks
    }

    /// Mean squares over `frames`.
    pub fn powers(&self, frames: u64) -> PairPower {
        self.energy.scaled(1.0 / frames.max(1) as f64)
    }

    /// The larger peak of both sides.
    pub fn peak(&self) -> f64 {
        self.peaks[0].max(self.peaks[1])
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0; LANES];
    let (mut a_chunks, mut b_chunks) = (a.chunks_exact(LANES), b.chunks_exact(LANES));
    for (x, y) in (&mut a_chunks).zip(&mut b_chunks) {
        for lane in 0..LANES {
            lanes[lane] += x[lane] * y[lane];
        }
    }
    let rest = a_chunks.remainder().iter().zip(b_chunks.remainder());
    lanes.iter().sum::<f64>() + rest.map(|(x, y)| x * y).sum::<f64>()
}

fn peak(samples: &[f64]) -> f64 {
    let mut lanes = [0.0f64; LANES];
    let mut chunks = samples.chunks_exact(LANES);
    for chunk in &mut chunks {
        for (lane, x) in lanes.iter_mut().zip(chunk) {
            let x = x.abs();
            *lane = if x > *lane { x } else { *lane };
        }
    }
    let rest = chunks.remainder().iter().map(|x| x.abs());
    lanes.into_iter().chain(rest).fold(0.0, f64::max)
}

/// Sets samples that are not finite to 0 and holds the others within
/// [`LARGEST_SAMPLE`]; gives how many were changed.
pub(crate) fn mend(samples: &mut [f64]) -> u64 {
    let usable = samples
        .iter()
        .fold(true, |all, x| all & (x.abs() <= LARGEST_SAMPLE));
    if usable {
        return 0;
    }
    let mut count = 0;
    for x in samples.iter_mut().filter(|x| !(x.abs() <= LARGEST_SAMPLE)) {
        *x = if x.is_finite() {
            LARGEST_SAMPLE.copysign(*x)
        } else {
            0.0
        };
        count += 1;
    }
    count
}
