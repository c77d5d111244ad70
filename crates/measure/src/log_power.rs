//! Powers in 16 bits: steps of 0.01 dB from -200 to +120 dB.

use std::sync::LazyLock;

const STEPS_A_DB: f32 = 100.0;
const LOWEST_DB: f32 = -200.0;
const LAST_CODE: u16 = 32_001;

/// The nearest code of a power; 0 for silence.
pub(crate) fn encode(power: f32) -> u16 {
    if power.is_nan() || power <= 1e-20 {
        return 0;
    }
    let steps = (10.0 * power.log10() - LOWEST_DB) * STEPS_A_DB;
    // The cast holds what is out of range to the type's limits.
    ((steps + 1.5) as u16).clamp(1, LAST_CODE)
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
    fn silence_and_extremes() {
        assert_eq!(encode(0.0), 0);
        assert_eq!(encode(f32::NAN), 0);
        assert_eq!(encode(-1.0), 0);
        assert_eq!(decode(0), 0.0);
        assert_eq!(encode(f32::MAX), LAST_CODE);
        assert!(decode(u16::MAX).is_finite());
    }
}
