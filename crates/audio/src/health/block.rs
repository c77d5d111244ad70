//! One pass over a block: extremes, sum and energy.

/// Lanes of the pass: enough for the compiler to keep the processor busy.
const LANES: usize = 4;

/// What a block of one channel amounts to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stats {
    /// Smallest and largest sample, NaN left out; 0 for an empty block.
    pub(super) min: f64,
    pub(super) max: f64,
    pub(super) sum: f64,
    pub(super) energy: f64,
}

impl Stats {
    /// Statistics of any number of samples, summed in a fixed order.
    pub(super) fn of(samples: &[f64]) -> Self {
        let first = samples.first().copied().unwrap_or(0.0);
        let first = if first.is_nan() { 0.0 } else { first };
        // A pass a figure: so the compiler takes several samples at a time.
        let min = lanes(samples, first, |min, x| if x < min { x } else { min });
        let max = lanes(samples, first, |max, x| if x > max { x } else { max });
        let sum = lanes(samples, 0.0, |sum, x| sum + x);
        let energy = lanes(samples, 0.0, |energy, x| energy + x * x);
        let lane = |lane: usize| Stats {
            min: min[lane],
            max: max[lane],
            sum: sum[lane],
            energy: energy[lane],
        };
        (0..LANES).map(lane).fold(Stats::start(first), Stats::join)
    }

    /// Whether every sample is a number that can be played.
    pub(super) fn is_finite(&self) -> bool {
        // NaN and infinities spoil a sum for good.
        self.sum.is_finite()
    }

    /// The largest distance from zero.
    pub(super) fn peak(&self) -> f64 {
        self.max.max(-self.min)
    }

    fn start(value: f64) -> Self {
        Stats {
            min: value,
            max: value,
            sum: 0.0,
            energy: 0.0,
        }
    }

    fn join(self, other: Stats) -> Stats {
        Stats {
            min: self.min.min(other.min),
            max: self.max.max(other.max),
            sum: self.sum + other.sum,
            energy: self.energy + other.energy,
        }
    }
}

/// One figure over all samples, every fourth one in a lane.
#[inline(always)]
fn lanes(samples: &[f64], start: f64, next: impl Fn(f64, f64) -> f64) -> [f64; LANES] {
    let mut lanes = [start; LANES];
    let (chunks, rest) = samples.as_chunks::<LANES>();
    for chunk in chunks {
        for lane in 0..LANES {
            lanes[lane] = next(lanes[lane], chunk[lane]);
        }
    }
    for (lane, &x) in lanes.iter_mut().zip(rest) {
        *lane = next(*lane, x);
    }
    lanes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extremes_sum_and_energy() {
        let stats = Stats::of(&[1.0, -2.0, 0.5, 0.0, 0.25, -0.25]);
        assert_eq!((stats.min, stats.max), (-2.0, 1.0));
        assert_eq!(stats.sum, -0.5);
        assert_eq!(stats.energy, 5.375);
        assert_eq!(stats.peak(), 2.0);
    }

    #[test]
    fn nan_is_seen_and_no_extreme() {
        for samples in [[f64::NAN, 0.5], [0.5, f64::NAN]] {
            let stats = Stats::of(&samples);
            assert!(!stats.is_finite());
            assert_eq!(stats.max, 0.5);
        }
    }
}
