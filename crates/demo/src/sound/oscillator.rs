//! Sines and saws.

use std::sync::OnceLock;

const SIZE: usize = 4096;

/// One period of a sine by table, linear between points: its error is below
/// -120 dB.
#[derive(Clone, Copy)]
pub(crate) struct Sine(&'static [f64]);

impl Sine {
    pub(crate) fn new() -> Self {
        static TABLE: OnceLock<Vec<f64>> = OnceLock::new();
        Self(TABLE.get_or_init(|| {
            (0..=SIZE)
                .map(|i| libm::sin(std::f64::consts::TAU * i as f64 / SIZE as f64))
                .collect()
        }))
    }

    /// `phase` in periods, 0..1.
    #[inline]
    pub(crate) fn at(self, phase: f64) -> f64 {
        let place = phase * SIZE as f64;
        let index = (place as usize).min(SIZE - 1);
        let part = place - index as f64;
        self.0[index] + part * (self.0[index + 1] - self.0[index])
    }
}

/// Moves a phase on, staying in 0..1 for increments below 1.
#[inline]
pub(crate) fn advance(phase: &mut f64, increment: f64) {
    *phase += increment;
    if *phase >= 1.0 {
        *phase -= 1.0;
    }
}

/// `N` rising saws with rounded corners, each of its own pitch (polynomial
/// band-limited step: V. Välimäki and A. Huovilainen, "Antialiasing Oscillators in
/// Subtractive Synthesis", IEEE Signal Processing Magazine 24(2), 2007).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Saws<const N: usize> {
    phases: [f64; N],
    increments: [f64; N],
    inverses: [f64; N],
}

impl<const N: usize> Saws<N> {
    /// Phases in periods, 0..1; increments in periods a sample, above 0.
    pub(crate) fn new(phases: [f64; N], increments: [f64; N]) -> Self {
        Self {
            phases,
            increments,
            inverses: increments.map(|increment| 1.0 / increment),
        }
    }

    /// Changes the pitch of one saw.
    pub(crate) fn tune(&mut self, saw: usize, increment: f64) {
        self.increments[saw] = increment;
        self.inverses[saw] = 1.0 / increment;
    }

    #[inline]
    pub(crate) fn next(&mut self) -> [f64; N] {
        let mut out = [0.0; N];
        for (n, out) in out.iter_mut().enumerate() {
            let phase = self.phases[n];
            *out = rounded(phase, self.inverses[n]);
            let next = phase + self.increments[n];
            self.phases[n] = if next >= 1.0 { next - 1.0 } else { next };
        }
        out
    }

    /// Squares from the same phases: each saw less itself half a period on.
    #[inline]
    pub(crate) fn next_squares(&mut self) -> [f64; N] {
        let halves: [f64; N] = std::array::from_fn(|n| {
            let half = self.phases[n] + 0.5;
            let half = if half >= 1.0 { half - 1.0 } else { half };
            rounded(half, self.inverses[n])
        });
        let saws = self.next();
        std::array::from_fn(|n| saws[n] - halves[n])
    }
}

/// A saw at `phase`; the step of two is spread over two samples. Written without
/// branches, so that a stack of saws runs side by side.
#[inline]
fn rounded(phase: f64, inverse: f64) -> f64 {
    let after = (1.0 - phase * inverse).max(0.0);
    let before = (1.0 - (1.0 - phase) * inverse).max(0.0);
    2.0 * phase - 1.0 + after * after - before * before
}

/// Soft saturation, a rational stand-in for the hyperbolic tangent, flat beyond
/// 3; its slope at zero is 1.
#[inline]
pub(crate) fn saturate(x: f64) -> f64 {
    let x = x.clamp(-3.0, 3.0);
    let square = x * x;
    x * (27.0 + square) / (27.0 + 9.0 * square)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A falling series of odd and even harmonics: a saw of height 1 has the
    /// amplitude 2 / (pi n) at the n-th (Fourier series of the sawtooth).
    #[test]
    fn saw_has_its_harmonics() {
        let mut saw = Saws::new([0.0], [1.0 / 480.0]);
        let wave: Vec<f64> = (0..4800).map(|_| saw.next()[0]).collect();
        for harmonic in 1..6 {
            let turn = std::f64::consts::TAU * f64::from(harmonic) / 480.0;
            let (mut sines, mut cosines) = (0.0, 0.0);
            for (n, x) in wave.iter().enumerate() {
                sines += x * libm::sin(turn * n as f64) / 2400.0;
                cosines += x * libm::cos(turn * n as f64) / 2400.0;
            }
            let amplitude = libm::sqrt(sines * sines + cosines * cosines);
            let expected = 2.0 / (std::f64::consts::PI * f64::from(harmonic));
            assert!((amplitude / expected - 1.0).abs() < 0.002, "{harmonic}");
        }
    }

    #[test]
    fn squares_have_no_mean_and_two_levels() {
        let mut square = Saws::new([0.3], [0.01]);
        let wave: Vec<f64> = (0..1000).map(|_| square.next_squares()[0]).collect();
        assert!(wave.iter().sum::<f64>().abs() < 1e-6);
        let flat = wave.iter().filter(|x| (x.abs() - 1.0).abs() < 1e-9).count();
        assert!(flat > 950, "{flat}");
    }
}
