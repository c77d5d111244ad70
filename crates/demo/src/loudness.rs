//! Integrated loudness for the truth: a second, plain implementation, so that
//! what the project measures is never checked against itself.
//!
//! Source: ITU-R BS.1770-5, Annex 1. Its filters are printed for 48 kHz; other
//! rates use the analogue prototype of B. De Man, "Evaluation of Implementations
//! of the EBU R128 Loudness Measurement", AES 145, 2018.

use std::f64::consts::PI;

/// Second-order section, transposed direct form II, for both sides at once.
#[derive(Clone, Copy, Debug)]
struct Section {
    b: [f64; 3],
    a: [f64; 2],
    state: [[f64; 2]; 2],
}

impl Section {
    fn shelf(rate: f64) -> Self {
        let (f0, gain_db, q) = (
            1_681.974_450_955_533,
            3.999_843_853_973_347,
            0.707_175_236_955_419_6,
        );
        let k = libm::tan(PI * f0 / rate);
        let high = libm::pow(10.0, gain_db / 20.0);
        let band = libm::pow(high, 0.499_666_774_154_541_6);
        let a0 = 1.0 + k / q + k * k;
        Self {
            b: [
                (high + band * k / q + k * k) / a0,
                2.0 * (k * k - high) / a0,
                (high - band * k / q + k * k) / a0,
            ],
            a: [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0],
            state: [[0.0; 2]; 2],
        }
    }

    fn high_pass(rate: f64) -> Self {
        let (f0, q) = (38.135_470_876_024_44, 0.500_327_037_323_877_3);
        let k = libm::tan(PI * f0 / rate);
        let a0 = 1.0 + k / q + k * k;
        Self {
            b: [1.0, -2.0, 1.0],
            a: [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0],
            state: [[0.0; 2]; 2],
        }
    }

    #[inline]
    fn process(&mut self, x: [f64; 2]) -> [f64; 2] {
        let ([first, second], b, a) = (&mut self.state, self.b, self.a);
        let mut y = [0.0; 2];
        for side in 0..2 {
            y[side] = b[0] * x[side] + first[side];
            first[side] = b[1] * x[side] - a[0] * y[side] + second[side];
            second[side] = b[2] * x[side] - a[1] * y[side];
        }
        y
    }
}

/// Gathers energy in steps of 100 ms.
pub(crate) struct Loudness {
    shelf: Section,
    high_pass: Section,
    step_frames: usize,
    filled: usize,
    energy: f64,
    steps: Vec<f64>,
}

impl Loudness {
    pub(crate) fn new(sample_rate_hz: f64) -> Self {
        Self {
            shelf: Section::shelf(sample_rate_hz),
            high_pass: Section::high_pass(sample_rate_hz),
            step_frames: libm::round(0.1 * sample_rate_hz) as usize,
            filled: 0,
            energy: 0.0,
            steps: Vec::new(),
        }
    }

    /// Adds a block. Mono is passed on both sides.
    pub(crate) fn push(&mut self, left: &[f64], right: &[f64]) {
        for (&left, &right) in left.iter().zip(right) {
            let y = self.high_pass.process(self.shelf.process([left, right]));
            self.energy += y[0] * y[0] + y[1] * y[1];
            self.filled += 1;
            if self.filled == self.step_frames {
                self.steps.push(self.energy / self.step_frames as f64);
                self.energy = 0.0;
                self.filled = 0;
            }
        }
    }

    /// Loudness without gates from one time to another, to steps of 100 ms; `None`
    /// for silence.
    pub(crate) fn between_lufs(&self, from_s: f64, to_s: f64) -> Option<f64> {
        let step = |s: f64| (libm::round(10.0 * s.max(0.0)) as usize).min(self.steps.len());
        let (from, to) = (step(from_s), step(to_s));
        let steps = self.steps.get(from..to).unwrap_or_default();
        mean_above(steps, 0.0).map(lufs)
    }

    /// Gated loudness in LUFS; `None` for silence.
    pub(crate) fn integrated_lufs(&self) -> Option<f64> {
        let blocks: Vec<f64> = self
            .steps
            .windows(4)
            .map(|four| four.iter().sum::<f64>() / 4.0)
            .collect();
        let absolute = mean_above(&blocks, energy(-70.0))?;
        let relative = absolute * 0.1;
        mean_above(&blocks, relative.max(energy(-70.0))).map(lufs)
    }
}

fn lufs(energy: f64) -> f64 {
    -0.691 + 10.0 * libm::log10(energy)
}

fn energy(lufs: f64) -> f64 {
    libm::pow(10.0, (lufs + 0.691) / 10.0)
}

fn mean_above(blocks: &[f64], threshold: f64) -> Option<f64> {
    let (sum, count) = blocks
        .iter()
        .filter(|&&block| block > threshold)
        .fold((0.0, 0usize), |(sum, count), block| {
            (sum + block, count + 1)
        });
    (count > 0).then(|| sum / count as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sine_lufs(rate: f64, level_dbfs: f64) -> f64 {
        let amplitude = libm::pow(10.0, level_dbfs / 20.0);
        let wave: Vec<f64> = (0..(20.0 * rate) as usize)
            .map(|n| amplitude * libm::sin(2.0 * PI * 1000.0 * n as f64 / rate))
            .collect();
        let mut meter = Loudness::new(rate);
        meter.push(&wave, &wave);
        meter.integrated_lufs().unwrap()
    }

    /// EBU Tech 3341, table 1, signals 1 and 2: a stereo sine of 1 kHz at -23 and
    /// -33 dBFS reads -23.0 and -33.0 LUFS, 0.1 LU either way.
    #[test]
    fn tech_3341_signals_1_and_2() {
        for rate in [44_100.0, 48_000.0] {
            assert!((sine_lufs(rate, -23.0) + 23.0).abs() < 0.1);
            assert!((sine_lufs(rate, -33.0) + 33.0).abs() < 0.1);
        }
    }

    /// ITU-R BS.1770-5, Annex 1, tables 1 and 2.
    #[test]
    fn filters_at_48_khz_are_the_printed_ones() {
        let shelf = Section::shelf(48e3);
        assert!((shelf.b[0] - 1.535_124_859_586_97).abs() < 1e-9);
        assert!((shelf.a[0] + 1.690_659_293_182_41).abs() < 1e-9);
        let high_pass = Section::high_pass(48e3);
        assert!((high_pass.a[0] + 1.990_047_454_833_98).abs() < 1e-9);
        assert!((high_pass.a[1] - 0.990_072_250_366_21).abs() < 1e-9);
    }

    #[test]
    fn silence_has_no_loudness() {
        let mut meter = Loudness::new(48e3);
        meter.push(&[0.0; 48_000], &[0.0; 48_000]);
        assert_eq!(meter.integrated_lufs(), None);
    }
}
