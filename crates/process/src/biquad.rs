//! Second-order filter section, transposed direct form II.

/// Coefficients of one section, normalised so that a0 is 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BiquadCoefficients {
    /// Feed-forward coefficients b0, b1, b2.
    pub b: [f64; 3],
    /// Feedback coefficients a1, a2.
    pub a: [f64; 2],
}

impl BiquadCoefficients {
    /// A section that changes nothing.
    pub const IDENTITY: Self = Self {
        b: [1.0, 0.0, 0.0],
        a: [0.0, 0.0],
    };

    /// Gain at a frequency in decibels, for checks and drawings.
    pub fn gain_db(&self, frequency_hz: f64, sample_rate_hz: f64) -> f64 {
        let w = core::f64::consts::TAU * frequency_hz / sample_rate_hz;
        let (c1, s1, c2, s2) = (
            libm::cos(w),
            libm::sin(w),
            libm::cos(2.0 * w),
            libm::sin(2.0 * w),
        );
        let power = |x0: f64, x1: f64, x2: f64| {
            let re = x0 + x1 * c1 + x2 * c2;
            let im = x1 * s1 + x2 * s2;
            re * re + im * im
        };
        let [b0, b1, b2] = self.b;
        let [a1, a2] = self.a;
        10.0 * libm::log10(power(b0, b1, b2) / power(1.0, a1, a2))
    }
}

/// One section with its state, one channel.
#[derive(Clone, Debug)]
pub struct Biquad {
    coefficients: BiquadCoefficients,
    state: [f64; 2],
}

impl Biquad {
    /// A section at rest.
    pub fn new(coefficients: BiquadCoefficients) -> Self {
        Self {
            coefficients,
            state: [0.0; 2],
        }
    }

    /// Back to rest.
    pub fn reset(&mut self) {
        self.state = [0.0; 2];
    }

    /// Filters one channel in place, any length.
    pub fn process(&mut self, channel: &mut [f64]) {
        let BiquadCoefficients {
            b: [b0, b1, b2],
            a: [a1, a2],
        } = self.coefficients;
        let [mut s1, mut s2] = self.state;
        for sample in channel {
            let x = *sample;
            let y = b0 * x + s1;
            s1 = b1 * x - a1 * y + s2;
            s2 = b2 * x - a2 * y;
            *sample = y;
        }
        self.state = [s1, s2];
    }
}

/// Two channels through equal sections, side by side: a recursive filter waits
/// for its own result, so the second channel costs next to nothing.
#[derive(Clone, Debug)]
pub struct StereoBiquad {
    coefficients: BiquadCoefficients,
    state: [[f64; 2]; 2],
}

impl StereoBiquad {
    /// A pair of sections at rest.
    pub fn new(coefficients: BiquadCoefficients) -> Self {
        Self {
            coefficients,
            state: [[0.0; 2]; 2],
        }
    }

    /// Back to rest.
    pub fn reset(&mut self) {
        self.state = [[0.0; 2]; 2];
    }

    /// Filters both channels in place. Both slices have the same length.
    pub fn process(&mut self, left: &mut [f64], right: &mut [f64]) {
        let BiquadCoefficients {
            b: [b0, b1, b2],
            a: [a1, a2],
        } = self.coefficients;
        let [mut s1, mut s2] = self.state;
        for (l, r) in left.iter_mut().zip(right.iter_mut()) {
            let x = [*l, *r];
            let y = [b0 * x[0] + s1[0], b0 * x[1] + s1[1]];
            for side in 0..2 {
                s1[side] = b1 * x[side] - a1 * y[side] + s2[side];
                s2[side] = b2 * x[side] - a2 * y[side];
            }
            [*l, *r] = y;
        }
        self.state = [s1, s2];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECTION: BiquadCoefficients = BiquadCoefficients {
        b: [0.9, -1.7, 0.85],
        a: [-1.6, 0.7],
    };

    fn noise(len: usize) -> Vec<f64> {
        let mut state = 7u64;
        (0..len)
            .map(|_| {
                state = state
                    .wrapping_mul(6364136223846793005)
                    .wrapping_add(1442695040888963407);
                (state >> 33) as f64 / (1u64 << 31) as f64 - 0.5
            })
            .collect()
    }

    #[test]
    fn pair_equals_two_singles() {
        let (mut l, mut r) = (noise(500), noise(500));
        r.reverse();
        let (mut l2, mut r2) = (l.clone(), r.clone());
        StereoBiquad::new(SECTION).process(&mut l, &mut r);
        Biquad::new(SECTION).process(&mut l2);
        Biquad::new(SECTION).process(&mut r2);
        assert_eq!((l, r), (l2, r2));
    }

    #[test]
    fn blocks_and_reset() {
        let whole = {
            let mut x = noise(300);
            Biquad::new(SECTION).process(&mut x);
            x
        };
        let mut filter = Biquad::new(SECTION);
        let mut x = noise(300);
        filter.process(&mut x[..17]);
        filter.process(&mut x[17..]);
        assert_eq!(x, whole);
        filter.reset();
        let mut again = noise(300);
        filter.process(&mut again);
        assert_eq!(again, whole);
    }

    #[test]
    fn identity_is_exact() {
        let mut x = noise(100);
        Biquad::new(BiquadCoefficients::IDENTITY).process(&mut x);
        assert_eq!(x, noise(100));
    }
}
