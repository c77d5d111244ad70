//! Windowed sinc filters.
//!
//! Source: J. F. Kaiser, "Nonrecursive digital filter design using the I0-sinh
//! window function", Proc. IEEE ISCAS 1974.

use std::f64::consts::PI;

/// Zeroth-order modified Bessel function of the first kind, by its power
/// series.
fn bessel_i0(x: f64) -> f64 {
    let (mut sum, mut term, mut k) = (1.0, 1.0, 1.0);
    while term > sum * 1e-17 {
        term *= (x / (2.0 * k)) * (x / (2.0 * k));
        sum += term;
        k += 1.0;
    }
    sum
}

/// The Kaiser window at `position` in -1..1 of its half width.
pub(crate) fn kaiser(position: f64, beta: f64) -> f64 {
    let inside = (1.0 - position * position).max(0.0);
    bessel_i0(beta * inside.sqrt()) / bessel_i0(beta)
}

/// sin(pi x) / (pi x).
pub(crate) fn sinc(x: f64) -> f64 {
    if x == 0.0 {
        1.0
    } else {
        (PI * x).sin() / (PI * x)
    }
}

/// A low-pass of `length` taps; `cutoff` (-6 dB) as a part of the sample rate.
pub(crate) fn kaiser_sinc(length: usize, cutoff: f64, beta: f64) -> Vec<f64> {
    let centre = (length - 1) as f64 / 2.0;
    (0..length)
        .map(|n| {
            let offset = n as f64 - centre;
            2.0 * cutoff * sinc(2.0 * cutoff * offset) * kaiser(offset / (centre + 1.0), beta)
        })
        .collect()
}
