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
        let larger = |a: f32, b: f32| if a > b { a } else { b };
        // A pass a figure: so the compiler takes several samples at a time.
        let energy = lanes(now, before, |energy, x, _| energy + x * x);
        let sum = lanes(now, before, |sum, x, _| sum + x);
        let peak = lanes(now, before, |peak, x, _| larger(x.abs(), peak));
        let step = lanes(now, before, |step, x, last| larger((x - last).abs(), step));
        Self {
            energy: energy.iter().sum(),
            sum: sum.iter().sum(),
            peak: peak.iter().fold(0.0, |a, &b| a.max(b)),
            step: step.iter().fold(0.0, |a, &b| a.max(b)),
        }
    }
}

/// One figure over samples and those before them, every eighth one in a lane.
#[inline(always)]
fn lanes(now: &[f32], before: &[f32], next: impl Fn(f32, f32, f32) -> f32) -> [f32; LANES] {
    let mut lanes = [0.0f32; LANES];
    let (chunks, rest) = now.as_chunks::<LANES>();
    let (chunks_before, rest_before) = before.as_chunks::<LANES>();
    for (chunk, chunk_before) in chunks.iter().zip(chunks_before) {
        for lane in 0..LANES {
            lanes[lane] = next(lanes[lane], chunk[lane], chunk_before[lane]);
        }
    }
    for (lane, (&x, &last)) in rest.iter().zip(rest_before).enumerate() {
        lanes[lane] = next(lanes[lane], x, last);
    }
    lanes
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
