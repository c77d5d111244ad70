//! Stretches of time in words.

use cupel_units::read_seconds;

/// `2:08 to 2:38`; a time that is not finite or precedes the start reads `0:00`.
pub(crate) fn stretch((start_s, end_s): (f64, f64)) -> String {
    let read = |seconds: f64| {
        let seconds = if seconds.is_finite() { seconds } else { 0.0 };
        read_seconds(seconds.clamp(0.0, 1e6), false)
    };
    format!("{} to {}", read(start_s), read(end_s))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_as_minutes_and_seconds() {
        assert_eq!(stretch((128.0, 158.4)), "2:08 to 2:38");
        assert_eq!(stretch((f64::NAN, f64::INFINITY)), "0:00 to 0:00");
    }
}
