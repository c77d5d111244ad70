//! Decibels to a gain factor, the same bits on every machine.

use crate::DesignError;

/// Highest gain a move may ask for, in decibels.
const HIGHEST_DB: f64 = 60.0;

/// The amplitude factor of a gain; 0 dB is exactly 1.
///
/// # Errors
/// [`DesignError::Gain`] where the gain is not a number or over +60 dB.
pub fn db_to_gain(gain_db: f64) -> Result<f64, DesignError> {
    if gain_db.is_nan() || gain_db > HIGHEST_DB {
        return Err(DesignError::Gain { given_db: gain_db });
    }
    Ok(factor(gain_db))
}

/// As [`db_to_gain`], for values already checked.
pub(crate) fn factor(gain_db: f64) -> f64 {
    if gain_db == 0.0 {
        return 1.0;
    }
    libm::exp(gain_db * (core::f64::consts::LN_10 / 20.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_factors() {
        assert_eq!(db_to_gain(0.0), Ok(1.0));
        assert!((factor(20.0) - 10.0).abs() < 1e-13);
        assert!((factor(-6.020599913279624) - 0.5).abs() < 1e-15);
        assert_eq!(factor(f64::NEG_INFINITY), 0.0);
        assert!(db_to_gain(f64::NAN).is_err());
        assert!(db_to_gain(61.0).is_err());
    }
}
