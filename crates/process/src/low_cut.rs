//! Low cut: Butterworth high-pass of 12 or 24 dB per octave.
//!
//! Source: R. Bristow-Johnson, Audio EQ Cookbook (W3C Note, 2021), "HPF";
//! section Q of the Butterworth response from its pole angles.

use crate::{BiquadCoefficients, DesignError, StereoBiquad};

/// How steeply a low cut falls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slope {
    /// Second order.
    Db12PerOctave,
    /// Fourth order.
    Db24PerOctave,
}

impl Slope {
    /// Q of each second-order section of a Butterworth response,
    /// 1 / (2 cos(pole angle)).
    fn section_qs(self) -> &'static [f64] {
        match self {
            Self::Db12PerOctave => &[core::f64::consts::FRAC_1_SQRT_2],
            Self::Db24PerOctave => &[0.541_196_100_146_197, 1.306_562_964_876_376_6],
        }
    }
}

/// What a person sets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowCutSettings {
    /// Where the response is 3 dB down, in hertz.
    pub cutoff_hz: f64,
    /// How steeply it falls below.
    pub slope: Slope,
}

/// A low cut for both channels.
#[derive(Clone, Debug)]
pub struct LowCut {
    coefficients: Vec<BiquadCoefficients>,
    sections: Vec<StereoBiquad>,
}

impl LowCut {
    /// Designs the filter for one sample rate.
    ///
    /// # Errors
    /// [`DesignError::Frequency`] unless `0 < cutoff_hz < sample_rate_hz / 2`.
    pub fn new(settings: LowCutSettings, sample_rate_hz: f64) -> Result<Self, DesignError> {
        let below_hz = sample_rate_hz / 2.0;
        if !(settings.cutoff_hz > 0.0 && settings.cutoff_hz < below_hz) {
            return Err(DesignError::Frequency {
                given_hz: settings.cutoff_hz,
                below_hz,
            });
        }
        let coefficients: Vec<_> = settings
            .slope
            .section_qs()
            .iter()
            .map(|&q| high_pass(settings.cutoff_hz, q, sample_rate_hz))
            .collect();
        let sections = coefficients.iter().map(|&c| StereoBiquad::new(c)).collect();
        Ok(Self {
            coefficients,
            sections,
        })
    }

    /// Back to rest.
    pub fn reset(&mut self) {
        self.sections.iter_mut().for_each(StereoBiquad::reset);
    }

    /// Filters both channels in place.
    pub fn process(&mut self, left: &mut [f64], right: &mut [f64]) {
        for section in &mut self.sections {
            section.process(left, right);
        }
    }

    /// Gain at a frequency in decibels.
    pub fn gain_db(&self, frequency_hz: f64, sample_rate_hz: f64) -> f64 {
        self.coefficients
            .iter()
            .map(|c| c.gain_db(frequency_hz, sample_rate_hz))
            .sum()
    }
}

fn high_pass(cutoff_hz: f64, q: f64, sample_rate_hz: f64) -> BiquadCoefficients {
    let w0 = core::f64::consts::TAU * cutoff_hz / sample_rate_hz;
    let cos = libm::cos(w0);
    let alpha = libm::sin(w0) / (2.0 * q);
    let a0 = 1.0 + alpha;
    let b0 = (1.0 + cos) / 2.0 / a0;
    BiquadCoefficients {
        b: [b0, -2.0 * b0, b0],
        a: [-2.0 * cos / a0, (1.0 - alpha) / a0],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn low_cut(cutoff_hz: f64, slope: Slope) -> LowCut {
        LowCut::new(LowCutSettings { cutoff_hz, slope }, 48_000.0).unwrap()
    }

    /// Worked example: HPF 100 Hz, Q 1/sqrt 2, 48 kHz, computed from the
    /// cookbook's formulas in a second implementation (double precision).
    #[test]
    fn cookbook_coefficients() {
        let c = high_pass(100.0, core::f64::consts::FRAC_1_SQRT_2, 48_000.0);
        let expected = [
            0.990786697940,
            -1.981573395881,
            -1.981488509145,
            0.981658282617,
        ];
        for (got, want) in [c.b[0], c.b[1], c.a[0], c.a[1]].into_iter().zip(expected) {
            assert!((got - want).abs() < 2e-12, "{got} {want}");
        }
    }

    /// Butterworth attenuation, 10 log10(1 + (fc/f)^2n): at half the cutoff
    /// 12.30 and 24.10 dB (textbook; bilinear warping is negligible here).
    #[test]
    fn butterworth_slope() {
        for (slope, at_half) in [
            (Slope::Db12PerOctave, -12.30),
            (Slope::Db24PerOctave, -24.10),
        ] {
            let filter = low_cut(100.0, slope);
            assert!((filter.gain_db(100.0, 48_000.0) + 3.0103).abs() < 1e-3);
            assert!((filter.gain_db(50.0, 48_000.0) - at_half).abs() < 0.01);
            assert!(filter.gain_db(1000.0, 48_000.0).abs() < 1e-3);
        }
    }

    #[test]
    fn a_tone_falls_as_designed() {
        let mut filter = low_cut(120.0, Slope::Db24PerOctave);
        let mut left: Vec<f64> = (0..48_000)
            .map(|n| (core::f64::consts::TAU * 60.0 * f64::from(n) / 48_000.0).sin())
            .collect();
        let mut right = left.clone();
        filter.process(&mut left, &mut right);
        let rms = (left[24_000..].iter().map(|x| x * x).sum::<f64>() / 24_000.0).sqrt();
        let gain_db = 20.0 * (rms / core::f64::consts::FRAC_1_SQRT_2).log10();
        assert!((gain_db + 24.10).abs() < 0.02, "{gain_db}");
        assert_eq!(left, right);
    }

    #[test]
    fn refuses_impossible_cutoffs() {
        for cutoff_hz in [0.0, -5.0, 24_000.0, f64::NAN] {
            let settings = LowCutSettings {
                cutoff_hz,
                slope: Slope::Db12PerOctave,
            };
            assert!(LowCut::new(settings, 48_000.0).is_err());
        }
    }
}
