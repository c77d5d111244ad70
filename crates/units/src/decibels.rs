//! Levels: decibels and loudness, and their linear forms.

use serde::{Deserialize, Serialize};

/// A level or a change of level, in decibels.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Decibels(pub f64);

/// A loudness in LUFS (ITU-R BS.1770), K-weighted, relative to full scale.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Lufs(pub f64);

impl Lufs {
    /// The gain that brings this loudness to `target`.
    pub fn gain_to(self, target: Lufs) -> Decibels {
        Decibels(target.0 - self.0)
    }
}

/// Decibels to an amplitude factor: 20 dB is 10.
///
/// For measuring and printing; the render path has its own, which gives the
/// same bits on every machine.
pub fn db_to_amplitude(db: f64) -> f64 {
    10f64.powf(db / 20.0)
}

/// An amplitude factor to decibels; 0 gives minus infinity.
pub fn amplitude_to_db(amplitude: f64) -> f64 {
    20.0 * amplitude.abs().log10()
}

/// Decibels to a power factor: 10 dB is 10.
pub fn db_to_power(db: f64) -> f64 {
    10f64.powf(db / 10.0)
}

/// A power to decibels; 0 gives minus infinity.
pub fn power_to_db(power: f64) -> f64 {
    10.0 * power.log10()
}

/// The nearest multiple of `step`, halves away from zero.
///
/// The result is divided by the inverse of the step, so that 0.1 dB steps print
/// as people write them.
pub fn round_to_step(value: f64, step: f64) -> f64 {
    let inverse = 1.0 / step;
    (value * inverse).round() / inverse.round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_of_ten() {
        assert_eq!(db_to_amplitude(20.0), 10.0);
        assert_eq!(db_to_power(10.0), 10.0);
        assert_eq!(amplitude_to_db(-0.1), -20.0);
        assert_eq!(power_to_db(0.001), -30.0);
        assert_eq!(power_to_db(0.0), f64::NEG_INFINITY);
    }

    #[test]
    fn steps_print_as_written() {
        assert_eq!(
            format!("{}", round_to_step(0.30000000000000004, 0.1)),
            "0.3"
        );
        assert_eq!(round_to_step(-1.25, 0.5), -1.5);
        assert_eq!(round_to_step(1.24, 0.5), 1.0);
    }

    #[test]
    fn loudness_match() {
        assert_eq!(Lufs(-9.0).gain_to(Lufs(-18.0)), Decibels(-9.0));
    }
}
