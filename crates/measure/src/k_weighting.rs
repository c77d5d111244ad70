//! K-weighting: the head shelf and the high-pass before every loudness.
//!
//! Source: ITU-R BS.1770-5, Annex 1, Tables 1 and 2 (coefficients at 48 kHz).
//! Other rates use the analogue parameters those coefficients come from
//! (inverse bilinear transform at 48 kHz), warped to the rate. The annex asks for
//! the same response as at 48 kHz: the high-pass keeps the 0.04 dB that its
//! tabled numerator 1, -2, 1 gives there, where libraries that leave the
//! numerator alone read 0.02 dB less at 96 kHz.

use std::f64::consts::PI;

const SHELF_HZ: f64 = 1681.974450955533;
const SHELF_Q: f64 = 0.7071752369554196;
/// High-frequency gain of the shelf, 3.99984385397 dB.
const SHELF_GAIN_LINEAR: f64 = 1.584864701130855;
/// The exponent that gives the gain at the corner.
const SHELF_CORNER_EXPONENT: f64 = 0.499666774155;
const HIGH_PASS_HZ: f64 = 38.13547087602444;
const HIGH_PASS_Q: f64 = 0.5003270373238773;
const TABLED_RATE_HZ: f64 = 48_000.0;

/// States smaller than this are set to zero at the end of a sub-block, so that
/// silence never runs on denormal numbers.
const DENORMAL_GUARD: f64 = 1e-30;

/// Coefficients of one second-order section, normalised to `a0 = 1`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Feed-forward coefficients.
    pub b: [f64; 3],
    /// Feedback coefficients `a1`, `a2`.
    pub a: [f64; 2],
}

impl Section {
    fn power_gain(&self, omega: f64) -> f64 {
        let (c1, s1) = (omega.cos(), omega.sin());
        let (c2, s2) = ((2.0 * omega).cos(), (2.0 * omega).sin());
        let re_b = self.b[0] + self.b[1] * c1 + self.b[2] * c2;
        let im_b = self.b[1] * s1 + self.b[2] * s2;
        let re_a = 1.0 + self.a[0] * c1 + self.a[1] * c2;
        let im_a = self.a[0] * s1 + self.a[1] * s2;
        (re_b * re_b + im_b * im_b) / (re_a * re_a + im_a * im_a)
    }
}

/// The two sections of the K-weighting at one sample rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KWeighting {
    /// Stage 1, the head shelf.
    pub shelf: Section,
    /// Stage 2, the high-pass.
    pub high_pass: Section,
    sample_rate_hz: f64,
}

impl KWeighting {
    /// Designs both sections; `sample_rate_hz` > 0.
    pub fn new(sample_rate_hz: f64) -> Self {
        Self {
            shelf: shelf(sample_rate_hz),
            high_pass: high_pass(sample_rate_hz),
            sample_rate_hz,
        }
    }

    /// The gain at one frequency, in dB.
    pub fn gain_db(&self, frequency_hz: f64) -> f64 {
        let omega = 2.0 * PI * frequency_hz / self.sample_rate_hz;
        10.0 * (self.shelf.power_gain(omega) * self.high_pass.power_gain(omega)).log10()
    }
}

fn shelf(sample_rate_hz: f64) -> Section {
    let k = (PI * SHELF_HZ / sample_rate_hz).tan();
    let (vh, q) = (SHELF_GAIN_LINEAR, SHELF_Q);
    let vb = vh.powf(SHELF_CORNER_EXPONENT);
    let a0 = 1.0 + k / q + k * k;
    Section {
        b: [
            (vh + vb * k / q + k * k) / a0,
            2.0 * (k * k - vh) / a0,
            (vh - vb * k / q + k * k) / a0,
        ],
        a: [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0],
    }
}

fn high_pass(sample_rate_hz: f64) -> Section {
    let warped = |rate_hz: f64| (PI * HIGH_PASS_HZ / rate_hz).tan();
    let denominator = |k: f64| 1.0 + k / HIGH_PASS_Q + k * k;
    let k = warped(sample_rate_hz);
    let a0 = denominator(k);
    let gain = denominator(warped(TABLED_RATE_HZ)) / a0;
    Section {
        b: [gain, -2.0 * gain, gain],
        a: [
            2.0 * (k * k - 1.0) / a0,
            (1.0 - k / HIGH_PASS_Q + k * k) / a0,
        ],
    }
}

/// Sums of K-weighted products of two channels: left squared, right squared,
/// left times right.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct PairEnergy {
    pub left: f64,
    pub right: f64,
    pub cross: f64,
}

/// Two channels filtered side by side; a recursive filter is bound by its
/// latency, so the second channel costs nothing.
#[derive(Clone, Debug)]
pub(crate) struct KPair {
    shelf: Section,
    high_pass: Section,
    /// Transposed direct form II: two states a section, two channels a state.
    state: [[f64; 2]; 4],
    energy: PairEnergy,
}

impl KPair {
    pub fn new(weighting: &KWeighting) -> Self {
        Self {
            shelf: weighting.shelf,
            high_pass: weighting.high_pass,
            state: [[0.0; 2]; 4],
            energy: PairEnergy::default(),
        }
    }

    /// Filters both channels and adds the products sample by sample, so that
    /// the lengths of the calls change nothing.
    pub fn push(&mut self, left: &[f64], right: &[f64]) {
        let [b0, b1, b2] = self.shelf.b;
        let [a1, a2] = self.shelf.a;
        // The numerator of the high-pass is 1, -2, 1 but for a gain, which
        // `take` applies.
        let [c1, c2] = self.high_pass.a;
        // The outputs `y = b0 x + s1` put into the states: fewer operations lie
        // between a state and its successors.
        let (d1, d2) = (b1 - a1 * b0, b2 - a2 * b0);
        let (e1, e2) = (-2.0 - c1, 1.0 - c2);
        let [mut s1, mut s2, mut t1, mut t2] = self.state;
        let mut squares = [self.energy.left, self.energy.right];
        let mut cross = self.energy.cross;
        for (&l, &r) in left.iter().zip(right) {
            let x = [l, r];
            let mut z = [0.0; 2];
            for lane in 0..2 {
                let y = b0 * x[lane] + s1[lane];
                let (s1_before, t1_before) = (s1[lane], t1[lane]);
                s1[lane] = (d1 * x[lane] + s2[lane]) - a1 * s1_before;
                s2[lane] = d2 * x[lane] - a2 * s1_before;
                z[lane] = y + t1[lane];
                t1[lane] = (e1 * y + t2[lane]) - c1 * t1_before;
                t2[lane] = e2 * y - c2 * t1_before;
                squares[lane] += z[lane] * z[lane];
            }
            cross += z[0] * z[1];
        }
        self.state = [s1, s2, t1, t2];
        self.energy = PairEnergy {
            left: squares[0],
            right: squares[1],
            cross,
        };
    }

    /// Takes the sums gathered since the last call.
    pub fn take(&mut self) -> PairEnergy {
        for state in self.state.iter_mut().flatten() {
            if state.abs() < DENORMAL_GUARD {
                *state = 0.0;
            }
        }
        let power_gain = self.high_pass.b[0] * self.high_pass.b[0];
        let energy = std::mem::take(&mut self.energy);
        PairEnergy {
            left: energy.left * power_gain,
            right: energy.right * power_gain,
            cross: energy.cross * power_gain,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// BS.1770-5 Annex 1, Tables 1 and 2.
    #[test]
    fn tabled_coefficients_at_48_khz() {
        let k = KWeighting::new(48_000.0);
        let shelf = [1.53512485958697, -2.69169618940638, 1.19839281085285];
        for (got, want) in k.shelf.b.iter().zip(shelf) {
            assert!((got - want).abs() < 1e-9, "{got} {want}");
        }
        assert!((k.shelf.a[0] + 1.69065929318241).abs() < 1e-9);
        assert!((k.shelf.a[1] - 0.73248077421585).abs() < 1e-9);
        assert_eq!(k.high_pass.b, [1.0, -2.0, 1.0]);
        assert!((k.high_pass.a[0] + 1.99004745483398).abs() < 1e-9);
        assert!((k.high_pass.a[1] - 0.99007225036621).abs() < 1e-9);
    }
}
