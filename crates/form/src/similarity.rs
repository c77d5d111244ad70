//! How alike bars are, and what it costs to take a run of them as one section.
//!
//! A bounded kernel of the distance between bars, so that a single odd bar (a
//! fill, a gap) costs a run no more than any other odd bar would.

use crate::bar_frames::{Bars, SLOTS};
use crate::features::LONGEST;
use cupel_measure::CRITICAL_BANDS;

/// What is compared, and how finely.
pub(crate) struct Kernel {
    /// Mean distance at which likeness has fallen to 1/e, dB.
    width_db: f32,
    /// Bands compared; none compares layers.
    first: usize,
    last: usize,
}

impl Kernel {
    pub const fn bands(width_db: f32, bands: std::ops::Range<usize>) -> Self {
        Self {
            width_db,
            first: bands.start,
            last: bands.end,
        }
    }

    pub const fn layers(width_db: f32) -> Self {
        Self {
            width_db,
            first: 0,
            last: 0,
        }
    }

    /// The values compared, bar after bar, and how many a bar has.
    fn values(&self, bars: &Bars) -> (Vec<f32>, usize) {
        if self.last == 0 {
            let rows =
                (0..bars.count()).flat_map(|bar| bars.layers.iter().map(move |layer| layer[bar]));
            return (rows.collect(), bars.layers.len());
        }
        let slots = bars.levels.chunks_exact(CRITICAL_BANDS);
        let rows = slots.flat_map(|slot| &slot[self.first..self.last]).copied();
        (rows.collect(), (self.last - self.first) * SLOTS)
    }
}

/// Sums of the likeness of all pairs of bars.
pub(crate) struct Similarity {
    bars: usize,
    /// `sums[i * (bars + 1) + j]`: sum over all pairs with rows below i and
    /// columns below j.
    sums: Vec<f64>,
}

impl Similarity {
    /// Compares all pairs of the first `count` bars; without values (no layers)
    /// all are alike.
    pub fn of(bars: &Bars, kernel: &Kernel, count: usize) -> Self {
        let (values, width) = kernel.values(bars);
        let mut alike = vec![0.0_f32; count * count];
        for i in 0..count {
            alike[i * count + i] = 1.0;
            let row = &values[i * width..(i + 1) * width];
            for j in i + 1..count.min(i + LONGEST) {
                let apart = summed_difference(row, &values[j * width..(j + 1) * width]);
                let value = (-apart / (width.max(1) as f32 * kernel.width_db)).exp();
                alike[i * count + j] = value;
                alike[j * count + i] = value;
            }
        }
        let stride = count + 1;
        let mut sums = vec![0.0; stride * stride];
        for i in 0..count {
            let mut row = 0.0;
            for j in 0..count {
                row += f64::from(alike[i * count + j]);
                sums[(i + 1) * stride + j + 1] = sums[i * stride + j + 1] + row;
            }
        }
        Self { bars: count, sums }
    }

    /// Scatter of the bars `from..to` around their middle in the kernel's space:
    /// their number less their summed likeness over their number.
    ///
    /// Source: Z. Harchaoui, O. Cappé, "Retrospective multiple change-point
    /// estimation with kernels", IEEE SSP 2007, eq. 3 (from memory).
    pub fn scatter(&self, from: usize, to: usize) -> f64 {
        let count = to - from;
        count as f64 - self.block(from, to, from, to) / count.max(1) as f64
    }

    fn block(&self, a: usize, b: usize, c: usize, d: usize) -> f64 {
        let at = |i: usize, j: usize| self.sums[i * (self.bars + 1) + j];
        at(b, d) - at(a, d) - at(b, c) + at(a, c)
    }
}

fn summed_difference(a: &[f32], b: &[f32]) -> f32 {
    // eight running sums, so that the compiler can use wide registers
    let mut sums = [0.0_f32; 8];
    let (whole_a, whole_b) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f32 = whole_a
        .remainder()
        .iter()
        .zip(whole_b.remainder())
        .map(|(a, b)| (a - b).abs())
        .sum();
    for (a, b) in whole_a.zip(whole_b) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += (a - b).abs();
        }
    }
    rest + sums.iter().sum::<f32>()
}
