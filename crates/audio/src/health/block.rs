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
        let (chunks, rest) = samples.as_chunks::<LANES>();
        let first = samples.first().copied().unwrap_or(0.0);
        let first = if first.is_nan() { 0.0 } else { first };
        let mut lanes = [Stats::start(first); LANES];
        for chunk in chunks {
            for (lane, &x) in lanes.iter_mut().zip(chunk) {
                lane.add(x);
            }
        }
        for (lane, &x) in lanes.iter_mut().zip(rest) {
            lane.add(x);
        }
        lanes.into_iter().fold(Stats::start(first), Stats::join)
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

    #[inline(always)]
    fn add(&mut self, x: f64) {
        self.min = if x < self.min { x } else { self.min };
        self.max = if x > self.max { x } else { self.max };
        self.sum += x;
        self.energy += x * x;
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
