//! Mean squares of blocks.

use crate::pair_power::PairPower;
use crate::wide::wide;

const LANES: usize = 4;

/// Sums of squares and products of two sides.
#[derive(Clone, Debug, Default)]
pub(crate) struct Levels {
    energy: PairPower,
}

impl Levels {
    /// Adds one block of both sides.
    pub fn push(&mut self, left: &[f64], right: &[f64]) {
        let [left, right, cross] = products(left, right);
        self.energy = self.energy.plus(PairPower { left, right, cross });
    }

    /// Mean squares over `frames`.
    pub fn powers(&self, frames: u64) -> PairPower {
        self.energy.scaled(1.0 / frames.max(1) as f64)
    }
}

wide! {
    /// Sums of left squared, right squared and left times right.
    fn products(left: &[f64], right: &[f64]) -> [f64; 3] {
        let mut sums = [[0.0; LANES]; 3];
        let (l_chunks, r_chunks) = (left.chunks_exact(LANES), right.chunks_exact(LANES));
        let rest = l_chunks.remainder().iter().zip(r_chunks.remainder());
        for (l, r) in l_chunks.zip(r_chunks) {
            for lane in 0..LANES {
                sums[0][lane] += l[lane] * l[lane];
                sums[1][lane] += r[lane] * r[lane];
                sums[2][lane] += l[lane] * r[lane];
            }
        }
        for (l, r) in rest {
            sums[0][0] += l * l;
            sums[1][0] += r * r;
            sums[2][0] += l * r;
        }
        sums.map(|lanes| lanes.iter().sum())
    }
}
