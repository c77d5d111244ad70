//! Short stretches of sound as a few figures.

/// Figures of one channel over a hop.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Hop {
    /// Sum of squares.
    pub(crate) energy: f32,
    /// Sum.
    pub(crate) sum: f32,
    /// Largest distance from zero.
    pub(crate) peak: f32,
    /// Largest step from one sample to the next, that into the hop included.
    pub(crate) step: f32,
}

/// Lanes of the pass: enough for the compiler to keep the processor busy.
const LANES: usize = 8;

impl Hop {
    /// Figures of `samples`, the first of which is the last one before the hop.
    /// Summed in a fixed order.
    pub(crate) fn of(samples: &[f32]) -> Self {
        let now = &samples[1..];
        let before = &samples[..now.len()];
        let (mut energy, mut sum) = ([0.0f32; LANES], [0.0f32; LANES]);
        let (mut peak, mut step) = ([0.0f32; LANES], [0.0f32; LANES]);
        let (chunks, rest) = now.as_chunks::<LANES>();
        let (chunks_before, rest_before) = before.as_chunks::<LANES>();
        let mut take = |lane: usize, x: f32, previous: f32| {
            energy[lane] += x * x;
            sum[lane] += x;
            let (size, move_) = (x.abs(), (x - previous).abs());
            peak[lane] = if size > peak[lane] { size } else { peak[lane] };
            step[lane] = if move_ > step[lane] {
                move_
            } else {
                step[lane]
            };
        };
        for (chunk, chunk_before) in chunks.iter().zip(chunks_before) {
            for lane in 0..LANES {
                take(lane, chunk[lane], chunk_before[lane]);
            }
        }
        for (lane, (&x, &previous)) in rest.iter().zip(rest_before).enumerate() {
            take(lane, x, previous);
        }
        Self {
            energy: energy.iter().sum(),
            sum: sum.iter().sum(),
            peak: peak.iter().fold(0.0, |a, &b| a.max(b)),
            step: step.iter().fold(0.0, |a, &b| a.max(b)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_of_a_few_samples() {
        let mut samples = vec![0.5f32, 1.0, -1.0];
        samples.resize(65, 0.0);
        let hop = Hop::of(&samples);
        assert_eq!(
            (hop.energy, hop.sum, hop.peak, hop.step),
            (2.0, 0.0, 1.0, 2.0)
        );
    }
}
