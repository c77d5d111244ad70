//! Pan: where a track stands between left and right.
//!
//! Mono tracks follow the sine-cosine law, scaled so that the centre is 0 dB;
//! stereo tracks follow a balance law, which turns down the opposite side only
//! (both common practice, no source). Position 0 is exactly unity in both.

use crate::DesignError;

/// Factors of the two sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanGains {
    /// Factor of the left side.
    pub left_linear: f64,
    /// Factor of the right side.
    pub right_linear: f64,
}

impl PanGains {
    /// Both sides as they are.
    pub const UNITY: Self = Self {
        left_linear: 1.0,
        right_linear: 1.0,
    };
}

fn checked(position: f64) -> Result<f64, DesignError> {
    if (-1.0..=1.0).contains(&position) {
        Ok(position)
    } else {
        Err(DesignError::Pan { given: position })
    }
}

/// Sine-cosine law with 0 dB at the centre and +3 dB at the sides.
///
/// # Errors
/// [`DesignError::Pan`] for a position outside -1 (left) to 1 (right).
pub fn mono_pan_gains(position: f64) -> Result<PanGains, DesignError> {
    if checked(position)? == 0.0 {
        return Ok(PanGains::UNITY);
    }
    let angle = (position + 1.0) * core::f64::consts::FRAC_PI_4;
    let root = core::f64::consts::SQRT_2;
    Ok(PanGains {
        left_linear: root * libm::cos(angle),
        right_linear: root * libm::sin(angle),
    })
}

/// Balance law: the opposite side falls with the cosine of the position.
///
/// # Errors
/// [`DesignError::Pan`] for a position outside -1 (left) to 1 (right).
pub fn balance_gains(position: f64) -> Result<PanGains, DesignError> {
    let fallen = libm::cos(checked(position)?.abs() * core::f64::consts::FRAC_PI_2);
    let mut gains = PanGains::UNITY;
    if position > 0.0 {
        gains.left_linear = fallen;
    } else if position < 0.0 {
        gains.right_linear = fallen;
    }
    Ok(gains)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sine-cosine law: textbook table (-3 dB centre), raised by 3.01 dB.
    #[test]
    fn sine_cosine_table() {
        let table = [
            (-0.5, -0.69, -8.34),
            (0.25, -5.11, -1.60),
            (0.75, -14.20, -0.17),
        ];
        for (x, left_db, right_db) in table {
            let gains = mono_pan_gains(x).unwrap();
            let db = |g: f64| 20.0 * g.log10() - 3.0103;
            assert!((db(gains.left_linear) - left_db).abs() < 0.006, "{x}");
            assert!((db(gains.right_linear) - right_db).abs() < 0.006, "{x}");
        }
        assert_eq!(mono_pan_gains(0.0), Ok(PanGains::UNITY));
    }

    #[test]
    fn balance_turns_down_the_other_side() {
        let right = balance_gains(0.5).unwrap();
        assert_eq!(right.right_linear, 1.0);
        assert!((20.0 * right.left_linear.log10() + 3.0103).abs() < 1e-4);
        let left = balance_gains(-0.5).unwrap();
        assert_eq!(
            (left.left_linear, left.right_linear),
            (1.0, right.left_linear)
        );
        assert_eq!(balance_gains(0.0), Ok(PanGains::UNITY));
        assert!(balance_gains(1.1).is_err());
        assert!(mono_pan_gains(f64::NAN).is_err());
    }
}
