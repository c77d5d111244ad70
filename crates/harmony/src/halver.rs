//! Half-rate steps: a half-band low-pass that keeps every second frame.

/// A streaming half-band decimator with `K` pairs of taps beside the middle one.
#[derive(Clone, Debug)]
pub(crate) struct Halver<const K: usize> {
    taps: [f32; K],
    even: Vec<f32>,
    odd: Vec<f32>,
}

impl<const K: usize> Halver<K> {
    /// Windowed sinc: Kaiser with `beta` about the ideal half-band filter, scaled
    /// to 1 at zero frequency.
    pub(crate) fn new(beta: f64) -> Self {
        let reach = (2 * K) as f64;
        let mut taps: [f64; K] = std::array::from_fn(|k| {
            let offset = (2 * k + 1) as f64;
            let sinc =
                (std::f64::consts::FRAC_PI_2 * offset).sin() / (std::f64::consts::PI * offset);
            let edge = (1.0 - (offset / reach).powi(2)).max(0.0).sqrt();
            sinc * bessel_i0(beta * edge) / bessel_i0(beta)
        });
        let sum: f64 = taps.iter().sum();
        taps.iter_mut().for_each(|tap| *tap *= 0.25 / sum);
        Self {
            taps: taps.map(|tap| tap as f32),
            even: vec![0.0; 2 * K - 1],
            odd: vec![0.0; 2 * K - 1],
        }
    }

    /// Frames at the incoming rate by which what comes out is late.
    pub(crate) fn delay(&self) -> f64 {
        (2 * K - 1) as f64
    }

    /// Replaces `out` by half as many frames; `signal` has an even length.
    pub(crate) fn process(&mut self, signal: &[f32], out: &mut Vec<f32>) {
        let half = signal.len() / 2;
        let pairs = signal.chunks_exact(2);
        self.even.extend(pairs.clone().map(|pair| pair[0]));
        self.odd.extend(pairs.map(|pair| pair[1]));
        out.clear();
        out.resize(half, 0.0);
        let middle = &self.odd[K - 1..K - 1 + half];
        for (y, x) in out.iter_mut().zip(middle) {
            *y = 0.5 * x;
        }
        for (k, &tap) in self.taps.iter().enumerate() {
            let before = &self.even[K - 1 - k..K - 1 - k + half];
            let after = &self.even[K + k..K + k + half];
            for ((y, a), b) in out.iter_mut().zip(before).zip(after) {
                *y += tap * (a + b);
            }
        }
        for side in [&mut self.even, &mut self.odd] {
            side.copy_within(half.., 0);
            side.truncate(2 * K - 1);
        }
    }
}

/// Modified Bessel function of order 0: its power series.
fn bessel_i0(x: f64) -> f64 {
    let (mut sum, mut term) = (1.0, 1.0);
    for n in 1..40 {
        term *= (0.5 * x / f64::from(n)).powi(2);
        sum += term;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level_db(hz: f64, beta: f64) -> f64 {
        let mut halver = Halver::<6>::new(beta);
        let signal: Vec<f32> = (0..8000)
            .map(|n| (std::f64::consts::TAU * hz * f64::from(n)).sin() as f32)
            .collect();
        let mut out = Vec::new();
        halver.process(&signal, &mut out);
        let power: f64 = out[1000..].iter().map(|x| f64::from(x * x)).sum::<f64>();
        10.0 * (2.0 * power / (out.len() - 1000) as f64).log10()
    }

    #[test]
    fn passes_the_lower_and_stops_the_upper_band() {
        assert!(level_db(0.15, 5.0).abs() < 0.1);
        assert!(level_db(0.36, 5.0) < -45.0);
    }

    #[test]
    fn delay_is_as_said() {
        let mut halver = Halver::<4>::new(4.0);
        let mut signal = vec![0.0; 200];
        signal[100] = 1.0;
        signal[101] = 1.0;
        let mut out = Vec::new();
        halver.process(&signal, &mut out);
        let sum: f32 = out.iter().sum();
        let centre: f32 = out
            .iter()
            .enumerate()
            .map(|(n, x)| n as f32 * x)
            .sum::<f32>()
            / sum;
        assert!(
            (2.0 * f64::from(centre) - halver.delay() - 100.5).abs() < 0.6,
            "{centre}"
        );
    }
}
