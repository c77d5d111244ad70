//! Signals that tests are made of, and the helpers that measure them.

use cupel_measure::{Features, Meter, MeterSettings};
use std::f64::consts::TAU;

/// Amplitude of a level in dBFS.
pub fn amplitude(dbfs: f64) -> f64 {
    10f64.powf(dbfs / 20.0)
}

/// A sine with its phase in radians at the first sample.
pub fn sine(
    rate_hz: u32,
    frequency_hz: f64,
    amplitude: f64,
    phase: f64,
    frames: usize,
) -> Vec<f64> {
    let step = TAU * frequency_hz / f64::from(rate_hz);
    (0..frames)
        .map(|n| amplitude * (step * n as f64 + phase).sin())
        .collect()
}

/// 1 kHz tones one after another, each `(seconds, peak level in dBFS)`; minus
/// infinity is silence.
pub fn tones(rate_hz: u32, parts: &[(f64, f64)]) -> Vec<f64> {
    let mut out = Vec::new();
    for &(seconds, dbfs) in parts {
        let frames = (seconds * f64::from(rate_hz)).round() as usize;
        out.extend(sine(rate_hz, 1000.0, amplitude(dbfs), 0.0, frames));
    }
    out
}

/// Raised-cosine fades of `frames` at both ends.
pub fn fade(samples: &mut [f64], frames: usize) {
    let length = samples.len();
    for n in 0..frames.min(length) {
        let gain = 0.5 - 0.5 * (std::f64::consts::PI * (n as f64 + 0.5) / frames as f64).cos();
        samples[n] *= gain;
        samples[length - 1 - n] *= gain;
    }
}

/// Seeded noise, uniform in -1..1: Knuth's 64-bit linear congruential
/// generator (TAOCP 2, 3.3.4).
pub struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    pub fn take(&mut self, frames: usize) -> Vec<f64> {
        (0..frames).map(|_| self.next()).collect()
    }
}

/// A beat with kicks, noisy hats, a bass and level changes: both sides differ.
pub fn music(rate_hz: u32, seconds: f64, seed: u64) -> [Vec<f64>; 2] {
    let mut noise = Noise(seed);
    let frames = (seconds * f64::from(rate_hz)) as usize;
    let mut sides = [Vec::new(), Vec::new()];
    for n in 0..frames {
        let t = n as f64 / f64::from(rate_hz);
        let beat = t % 0.5;
        let level = if t % 16.0 < 8.0 { 1.0 } else { 0.3 };
        let kick = 0.6 * (-beat * 9.0).exp() * (330.0 * beat).sin();
        let hat = 0.35 * (-((t + 0.25) % 0.5) * 40.0).exp();
        let bass = 0.1 * (t * 345.0).sin();
        let pad = 0.05 * (t * 2765.0).sin();
        for (side, turn) in sides.iter_mut().zip([1.0, -1.0]) {
            let wide = turn * pad + hat * noise.next() + 0.01 * noise.next();
            side.push(level * (kick + bass + wide));
        }
    }
    sides
}

/// Measures planar channels in one push.
pub fn measure(rate_hz: u32, channels: &[&[f64]]) -> Features {
    let settings = MeterSettings {
        sample_rate_hz: rate_hz,
        channels: channels.len(),
    };
    let mut meter = Meter::new(settings).unwrap();
    meter.push(channels);
    meter.finish()
}

/// Asserts that `got` lies within `tolerance` of `want`, and prints the margin
/// left.
pub fn check(name: &str, got: Option<f64>, want: f64, tolerance: f64) {
    check_between(name, got, want - tolerance, want + tolerance);
}

/// As [`check`], with two limits.
pub fn check_between(name: &str, got: Option<f64>, lowest: f64, highest: f64) {
    let got = got.unwrap_or_else(|| panic!("{name}: no value"));
    let margin = (got - lowest).min(highest - got);
    println!("{name}: {got:.4}, margin {margin:.4}");
    assert!(margin >= 0.0, "{name}: {got} not in {lowest}..{highest}");
}
