//! Powers in 16 bits: steps of 0.01 dB from -200 to +120 dB.

use std::sync::LazyLock;

const STEPS_A_DB: f32 = 100.0;
const LOWEST_DB: f32 = -200.0;
/// 10 log10(2).
const DB_AN_OCTAVE: f32 = 10.0 * std::f32::consts::LOG10_2;
const LAST_CODE: u16 = 32_001;

/// The nearest code of a power; 0 for silence.
pub(crate) fn encode(power: f32) -> u16 {
    if power.is_nan() || power <= 1e-20 {
        return 0;
    }
    let steps = (DB_AN_OCTAVE * log2(power) - LOWEST_DB) * STEPS_A_DB;
    // The cast holds what is out of range to the type's limits.
    ((steps + 1.5) as u16).clamp(1, LAST_CODE)
}

/// Logarithm to base 2 of a normal positive number, to about 1e-6: the exponent,
/// and the series 2 artanh(t) / ln 2 with t = (m - 1) / (m + 1) for the rest
/// (Abramowitz and Stegun, 4.1.27).
fn log2(value: f32) -> f32 {
    const SQRT_HALF_BITS: u32 = 0x3f35_04f3;
    let offset = value.to_bits().wrapping_sub(SQRT_HALF_BITS);
    let exponent = (offset as i32 >> 23) as f32;
    // Within sqrt(1/2) and sqrt(2).
    let mantissa = f32::from_bits((offset & 0x007f_ffff) + SQRT_HALF_BITS);
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let square = t * t;
    let series = 1.0 + square * (1.0 / 3.0 + square * (1.0 / 5.0 + square * (1.0 / 7.0)));
    exponent + 2.0 * std::f32::consts::LOG2_E * t * series
}

/// The power of a code; those past the last read as the last.
pub(crate) fn decode(code: u16) -> f64 {
    static POWERS: LazyLock<Vec<f32>> = LazyLock::new(|| {
        let power = |code: u16| {
            let db = f64::from(code - 1) / f64::from(STEPS_A_DB) + f64::from(LOWEST_DB);
            10f64.powf(db / 10.0) as f32
        };
        std::iter::once(0.0)
            .chain((1..=LAST_CODE).map(power))
            .collect()
    });
    f64::from(POWERS[usize::from(code.min(LAST_CODE))])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_within_half_a_step() {
        for exponent in -190..110 {
            let power = 10f64.powf(f64::from(exponent) / 10.0 + 0.00037);
            let error_db = 10.0 * (decode(encode(power as f32)) / power).log10();
            assert!(error_db.abs() < 0.0051, "{power}: {error_db}");
        }
    }

    #[test]
    fn logarithm_is_that_of_the_platform() {
        for step in 0..4_000 {
            let value = 2f32.powf(step as f32 * 0.031 - 62.0);
            assert!((log2(value) - value.log2()).abs() < 1e-5, "{value}");
        }
    }

    #[test]
    fn silence_and_extremes() {
        assert_eq!(encode(0.0), 0);
        assert_eq!(encode(f32::NAN), 0);
        assert_eq!(encode(-1.0), 0);
        assert_eq!(decode(0), 0.0);
        assert_eq!(encode(f32::MAX), LAST_CODE);
        assert!(decode(u16::MAX).is_finite());
    }
}
