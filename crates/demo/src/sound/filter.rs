//! State-variable filter of second order.
//!
//! Source: A. Simper, "Linear Trapezoidal Integrated State Variable Filter",
//! 2013. Names follow the source.

/// Coefficients and state in one: a sound of the demo needs no more.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Svf {
    k: f64,
    a1: f64,
    a2: f64,
    a3: f64,
    ic1: f64,
    ic2: f64,
}

/// What leaves the filter.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bands {
    pub(crate) low: f64,
    pub(crate) band: f64,
    pub(crate) high: f64,
}

impl Svf {
    pub(crate) fn new(cutoff_hz: f64, q: f64, sample_rate_hz: f64) -> Self {
        let mut filter = Self::default();
        filter.tune(cutoff_hz, q, sample_rate_hz);
        filter
    }

    /// Sets the cutoff, held below 0.45 of the rate; the state goes on.
    pub(crate) fn tune(&mut self, cutoff_hz: f64, q: f64, sample_rate_hz: f64) {
        let cutoff_hz = cutoff_hz.clamp(10.0, 0.45 * sample_rate_hz);
        let g = libm::tan(std::f64::consts::PI * cutoff_hz / sample_rate_hz);
        self.k = 1.0 / q;
        self.a1 = 1.0 / (1.0 + g * (g + self.k));
        self.a2 = g * self.a1;
        self.a3 = g * self.a2;
    }

    /// These coefficients with the memory of another.
    pub(crate) fn with_state_of(self, other: Self) -> Self {
        Self {
            ic1: other.ic1,
            ic2: other.ic2,
            ..self
        }
    }

    #[inline]
    pub(crate) fn process(&mut self, v0: f64) -> Bands {
        let v3 = v0 - self.ic2;
        let v1 = self.a1 * self.ic1 + self.a2 * v3;
        let v2 = self.ic2 + self.a2 * self.ic1 + self.a3 * v3;
        self.ic1 = 2.0 * v1 - self.ic1;
        self.ic2 = 2.0 * v2 - self.ic2;
        Bands {
            low: v2,
            band: self.k * v1,
            high: v0 - self.k * v1 - v2,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gain_db(pick: impl Fn(Bands) -> f64, frequency_hz: f64) -> f64 {
        let mut filter = Svf::new(1000.0, std::f64::consts::FRAC_1_SQRT_2, 48e3);
        let mut peak = 0.0f64;
        for n in 0..48_000 {
            let x = libm::sin(std::f64::consts::TAU * frequency_hz * f64::from(n) / 48e3);
            let y = pick(filter.process(x));
            if n > 24_000 {
                peak = peak.max(y.abs());
            }
        }
        20.0 * libm::log10(peak)
    }

    /// A Butterworth pair is 3.01 dB down at its cutoff, and one octave beyond
    /// 10 log10(1 + 2^4) = 12.3 dB (analogue; the bilinear map adds a little).
    #[test]
    fn butterworth_points() {
        assert!((gain_db(|b| b.low, 1000.0) + 3.01).abs() < 0.02);
        assert!((gain_db(|b| b.high, 1000.0) + 3.01).abs() < 0.02);
        assert!((gain_db(|b| b.low, 2000.0) + 12.3).abs() < 0.3);
        assert!((gain_db(|b| b.high, 500.0) + 12.3).abs() < 0.3);
    }
}
