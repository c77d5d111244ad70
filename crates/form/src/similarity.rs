//! How alike bars are, and what it costs to take a run of them as one section.
//!
//! A bounded kernel of the distance between bars, so that a single odd bar (a
//! fill, a gap) costs a run no more than any other odd bar would.

use crate::bar_frames::Bars;

/// Longest run looked at as one section, bars.
pub(crate) const LONGEST: usize = 96;

/// Sums of the similarity of all pairs of bars.
pub(crate) struct Similarity {
    bars: usize,
    /// `sums[i * (bars + 1) + j]`: sum over all pairs with rows below i and
    /// columns below j.
    sums: Vec<f64>,
}

impl Similarity {
    /// Compares all pairs; `width_db` is the mean distance at which likeness has
    /// fallen to 1/e.
    pub fn of(bars: &Bars, width_db: f32) -> Self {
        let count = bars.count();
        let mut alike = vec![0.0_f32; count * count];
        for i in 0..count {
            alike[i * count + i] = 1.0;
            for j in i + 1..count.min(i + LONGEST) {
                let value = (-distance_db(bars, i, j) / width_db).exp();
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

/// Mean difference of two bars, dB; layers count as much as all bands together.
fn distance_db(bars: &Bars, i: usize, j: usize) -> f32 {
    let bands = mean_difference(bars.row(i), bars.row(j));
    if bars.layers.is_empty() {
        return bands;
    }
    let layers = bars
        .layers
        .iter()
        .map(|layer| (layer[i] - layer[j]).abs())
        .sum::<f32>()
        / bars.layers.len() as f32;
    0.5 * (bands + layers)
}

fn mean_difference(a: &[f32], b: &[f32]) -> f32 {
    // eight running sums, so that the compiler can use wide registers
    let mut sums = [0.0_f32; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += (a - b).abs();
        }
    }
    sums.iter().sum::<f32>() / a.len().max(1) as f32
}
