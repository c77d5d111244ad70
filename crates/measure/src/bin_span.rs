//! A stretch of frequency on the bins of a spectrum.

const LANES: usize = 8;

/// The bins between two frequencies, the outer two by their share.
///
/// Bin `k` covers `(k - 1/2, k + 1/2)` bin widths, so that touching spans share
/// a bin without counting anything twice; the lowest span reaches down to bin 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BinSpan {
    first: usize,
    first_share: f32,
    /// One past the last whole bin.
    end: usize,
    end_share: f32,
}

impl BinSpan {
    /// The span from `low_hz` to `high_hz` on `bins` bins that lie `width_hz`
    /// apart; empty where it lies above them.
    pub fn new(low_hz: f64, high_hz: f64, width_hz: f64, bins: usize) -> Self {
        let top = bins as f64;
        let position = |hz: f64| {
            if hz <= 0.0 {
                0.0
            } else {
                (hz / width_hz + 0.5).min(top)
            }
        };
        Self::from_positions(position(low_hz), position(high_hz))
    }

    fn from_positions(low: f64, high: f64) -> Self {
        let (first, end) = (low.floor(), high.floor());
        if first == end {
            return Self {
                first: first as usize,
                first_share: (high - low).max(0.0) as f32,
                end: first as usize + 1,
                end_share: 0.0,
            };
        }
        Self {
            first: first as usize,
            first_share: (first + 1.0 - low) as f32,
            end: end as usize,
            end_share: (high - end) as f32,
        }
    }

    /// The sum of `powers` over the span, in an order that depends on nothing
    /// but the span.
    pub fn sum(&self, powers: &[f32]) -> f32 {
        let whole = powers.get(self.first + 1..self.end).unwrap_or(&[]);
        let mut lanes = [0.0f32; LANES];
        let mut chunks = whole.chunks_exact(LANES);
        for chunk in &mut chunks {
            for (lane, &power) in lanes.iter_mut().zip(chunk) {
                *lane += power;
            }
        }
        let rest: f32 = chunks.remainder().iter().sum();
        self.edges(|bin| powers.get(bin).copied().unwrap_or(0.0)) + lanes.iter().sum::<f32>() + rest
    }

    /// As [`sum`](Self::sum), for long-term powers.
    pub fn sum_f64(&self, powers: &[f64]) -> f64 {
        let whole = powers.get(self.first + 1..self.end).unwrap_or(&[]);
        let at = |bin: usize| powers.get(bin).copied().unwrap_or(0.0);
        f64::from(self.first_share) * at(self.first)
            + whole.iter().sum::<f64>()
            + f64::from(self.end_share) * at(self.end)
    }

    fn edges(&self, at: impl Fn(usize) -> f32) -> f32 {
        self.first_share * at(self.first) + self.end_share * at(self.end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn touching_spans_count_everything_once() {
        let powers: Vec<f64> = (0..65).map(|k| 1.0 + k as f64).collect();
        let total: f64 = powers.iter().sum();
        let edges = [0.0, 3.3, 3.4, 17.77, 40.0, 1000.0];
        let parts: f64 = edges
            .windows(2)
            .map(|e| BinSpan::new(e[0], e[1], 1.0, 65).sum_f64(&powers))
            .sum();
        assert!((parts - total).abs() < 1e-3, "{parts} {total}");
    }
}
