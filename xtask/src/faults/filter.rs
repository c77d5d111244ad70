//! Filters that put faults in.
//!
//! Source: R. Bristow-Johnson, Audio EQ Cookbook,
//! <https://www.w3.org/TR/audio-eq-cookbook/>. Names follow the source.

use cupel_process::BiquadCoefficients;

/// A bell of `bandwidth` octaves.
pub(crate) fn bell(rate_hz: u32, hz: f64, bandwidth: f64, gain_db: f64) -> BiquadCoefficients {
    let (w0, a) = (angle(rate_hz, hz), 10f64.powf(gain_db / 40.0));
    let alpha = w0.sin() * (0.5 * 2f64.ln() * bandwidth * w0 / w0.sin()).sinh();
    let cos = w0.cos();
    section(
        [1.0 + alpha * a, -2.0 * cos, 1.0 - alpha * a],
        [1.0 + alpha / a, -2.0 * cos, 1.0 - alpha / a],
    )
}

/// A shelf below a frequency, slope 1.
pub(crate) fn low_shelf(rate_hz: u32, hz: f64, gain_db: f64) -> BiquadCoefficients {
    let (w0, a) = (angle(rate_hz, hz), 10f64.powf(gain_db / 40.0));
    let (cos, alpha) = (w0.cos(), w0.sin() / 2f64.sqrt());
    let root = 2.0 * a.sqrt() * alpha;
    section(
        [
            a * ((a + 1.0) - (a - 1.0) * cos + root),
            2.0 * a * ((a - 1.0) - (a + 1.0) * cos),
            a * ((a + 1.0) - (a - 1.0) * cos - root),
        ],
        [
            (a + 1.0) + (a - 1.0) * cos + root,
            -2.0 * ((a - 1.0) + (a + 1.0) * cos),
            (a + 1.0) + (a - 1.0) * cos - root,
        ],
    )
}

/// A shelf above a frequency, slope 1.
pub(crate) fn high_shelf(rate_hz: u32, hz: f64, gain_db: f64) -> BiquadCoefficients {
    let (w0, a) = (angle(rate_hz, hz), 10f64.powf(gain_db / 40.0));
    let (cos, alpha) = (w0.cos(), w0.sin() / 2f64.sqrt());
    let root = 2.0 * a.sqrt() * alpha;
    section(
        [
            a * ((a + 1.0) + (a - 1.0) * cos + root),
            -2.0 * a * ((a - 1.0) + (a + 1.0) * cos),
            a * ((a + 1.0) + (a - 1.0) * cos - root),
        ],
        [
            (a + 1.0) - (a - 1.0) * cos + root,
            2.0 * ((a - 1.0) - (a + 1.0) * cos),
            (a + 1.0) - (a - 1.0) * cos - root,
        ],
    )
}

/// Lets the lows through, 24 dB an octave.
pub(crate) fn low_pass(rate_hz: u32, hz: f64) -> [BiquadCoefficients; 2] {
    [0.541_196_1, 1.306_563].map(|q| {
        let (cos, alpha) = corner(rate_hz, hz, q);
        let b = (1.0 - cos) / 2.0;
        section([b, 2.0 * b, b], [1.0 + alpha, -2.0 * cos, 1.0 - alpha])
    })
}

/// Lets the highs through, 24 dB an octave.
pub(crate) fn high_pass(rate_hz: u32, hz: f64) -> [BiquadCoefficients; 2] {
    [0.541_196_1, 1.306_563].map(|q| {
        let (cos, alpha) = corner(rate_hz, hz, q);
        let b = (1.0 + cos) / 2.0;
        section([b, -2.0 * b, b], [1.0 + alpha, -2.0 * cos, 1.0 - alpha])
    })
}

/// Only what lies between two frequencies.
pub(crate) fn between(rate_hz: u32, low_hz: f64, high_hz: f64) -> Vec<BiquadCoefficients> {
    let mut both = high_pass(rate_hz, low_hz).to_vec();
    both.extend(low_pass(rate_hz, high_hz));
    both
}

fn corner(rate_hz: u32, hz: f64, q: f64) -> (f64, f64) {
    let w0 = angle(rate_hz, hz);
    (w0.cos(), w0.sin() / (2.0 * q))
}

/// Angle of a frequency, kept below half the rate.
fn angle(rate_hz: u32, hz: f64) -> f64 {
    let rate_hz = f64::from(rate_hz);
    std::f64::consts::TAU * hz.min(0.45 * rate_hz) / rate_hz
}

fn section(b: [f64; 3], a: [f64; 3]) -> BiquadCoefficients {
    BiquadCoefficients {
        b: b.map(|b| b / a[0]),
        a: [a[1] / a[0], a[2] / a[0]],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The gains that the source gives at the middle and at the ends.
    #[test]
    fn gains_are_those_of_the_source() {
        let near = |section: BiquadCoefficients, hz: f64, db: f64| {
            let is = section.gain_db(hz, 48_000.0);
            assert!((is - db).abs() < 0.1, "{hz} Hz: {is} dB, not {db} dB");
        };
        near(bell(48_000, 300.0, 1.0, 6.0), 300.0, 6.0);
        near(bell(48_000, 300.0, 1.0, 6.0), 10.0, 0.0);
        near(low_shelf(48_000, 120.0, -6.0), 10.0, -6.0);
        near(low_shelf(48_000, 120.0, -6.0), 5_000.0, 0.0);
        near(high_shelf(48_000, 6_000.0, 6.0), 23_000.0, 6.0);
        let low = low_pass(48_000, 1_000.0).map(|s| s.gain_db(1_000.0, 48_000.0));
        assert!((low[0] + low[1] + 3.01).abs() < 0.05);
        let high = high_pass(48_000, 1_000.0).map(|s| s.gain_db(500.0, 48_000.0));
        assert!((high[0] + high[1] + 24.1).abs() < 0.3);
    }
}
