//! Reading a channel at another speed: interpolation with a windowed sinc.
//!
//! Source: J. O. Smith, "Digital Audio Resampling Home Page", "Windowed sinc
//! interpolation", <https://ccrma.stanford.edu/~jos/resample/>; Kaiser window with
//! beta 10 (stop band below -100 dB: J. F. Kaiser, "Nonrecursive digital filter design
//! using the I0-sinh window function", 1974).

use std::f64::consts::PI;

/// Zero crossings of the kernel to each side, at speed 1.
const CROSSINGS: usize = 48;

/// Kernel values kept a zero crossing; between them the kernel is taken as straight.
const STEPS: usize = 1024;

const BETA: f64 = 10.0;

/// Where the pass band ends, as a part of the lower Nyquist frequency.
const PASS: f64 = 0.96;

/// Reads `frames` samples at `start`, `start + speed`, ...; silence outside `channel`.
///
/// `start` in samples, any sign; `speed` > 0. At speed 1 from a whole sample the
/// samples pass untouched.
pub(crate) fn resample(channel: &[f64], start: f64, speed: f64, frames: usize) -> Vec<f64> {
    if speed == 1.0 {
        let first = start.round() as i64;
        return (0..frames as i64)
            .map(|n| sample(channel, first + n))
            .collect();
    }
    let kernel = kernel();
    // Faster means higher: what would pass Nyquist is filtered off first.
    let cutoff = PASS * (1.0 / speed).min(1.0);
    let reach = CROSSINGS as f64 / cutoff;
    (0..frames)
        .map(|n| {
            let place = start + n as f64 * speed;
            let (from, to) = (
                (place - reach).ceil() as i64,
                (place + reach).floor() as i64,
            );
            let sum: f64 = (from..=to)
                .map(|m| sample(channel, m) * at(&kernel, (place - m as f64).abs() * cutoff))
                .sum();
            sum * cutoff
        })
        .collect()
}

fn sample(channel: &[f64], index: i64) -> f64 {
    usize::try_from(index)
        .ok()
        .and_then(|index| channel.get(index))
        .copied()
        .unwrap_or(0.0)
}

/// The kernel at `distance` zero crossings from its middle.
fn at(kernel: &[f64], distance: f64) -> f64 {
    let place = distance * STEPS as f64;
    let index = place as usize;
    match kernel.get(index..index + 2) {
        Some(&[low, high]) => low + (high - low) * (place - index as f64),
        _ => 0.0,
    }
}

/// One side of the kernel.
fn kernel() -> Vec<f64> {
    (0..=CROSSINGS * STEPS)
        .map(|n| {
            let x = n as f64 / STEPS as f64;
            let edge = x / CROSSINGS as f64;
            let window = bessel_i0(BETA * (1.0 - edge * edge).max(0.0).sqrt()) / bessel_i0(BETA);
            let sinc = if n == 0 {
                1.0
            } else {
                libm::sin(PI * x) / (PI * x)
            };
            sinc * window
        })
        .collect()
}

/// Modified Bessel function of the first kind, order 0, by its power series.
fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let mut term = 1.0;
    let mut sum = 1.0;
    for k in 1..64 {
        term *= quarter / f64::from(k * k);
        sum += term;
    }
    sum
}
