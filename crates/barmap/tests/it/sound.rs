//! Sounds and bars for the tests.

use std::f64::consts::PI;

use cupel_barmap::{BarMap, BarMapMeter, LowBars};
use cupel_rhythm::BarLines;

pub const RATE_HZ: f64 = 48_000.0;

/// Bars of a steady tempo from `start_s`.
pub fn lines(tempo_bpm: f64, beats_per_bar: u32, bars: usize, start_s: f64) -> BarLines {
    let bar_s = 60.0 / tempo_bpm * f64::from(beats_per_bar);
    BarLines {
        bar_starts_s: (0..=bars).map(|bar| start_s + bar as f64 * bar_s).collect(),
        beats_per_bar,
        swing: 0.5,
    }
}

/// Noise of a seed, evenly spread in -0.5..0.5.
pub fn noise(seed: u64, frames: usize) -> Vec<f64> {
    let mut state = seed.wrapping_mul(2).wrapping_add(1);
    (0..frames)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(1u32 << 31) - 0.5
        })
        .collect()
}

/// Adds a sine with 3 ms fades to a channel.
pub fn add_tone(channel: &mut [f64], start_s: f64, end_s: f64, hertz: f64, amplitude: f64) {
    let (from, to) = ((start_s * RATE_HZ) as usize, (end_s * RATE_HZ) as usize);
    let fade = (0.003 * RATE_HZ) as usize;
    let length = channel.len();
    for (n, x) in channel[from.min(length)..to.min(length)]
        .iter_mut()
        .enumerate()
    {
        let edge = n.min((to - from).saturating_sub(n)).min(fade) as f64 / fade as f64;
        *x += amplitude * edge * (2.0 * PI * hertz * n as f64 / RATE_HZ).sin();
    }
}

pub fn map(lines: &BarLines, sides: &[&[f64]]) -> BarMap {
    both(lines, sides).0
}

pub fn both(lines: &BarLines, sides: &[&[f64]]) -> (BarMap, LowBars) {
    let mut meter = BarMapMeter::new(RATE_HZ, sides.len(), lines, 0.0);
    meter.push(sides);
    meter.finish_with_low()
}

pub fn db(power: f64) -> f64 {
    10.0 * power.log10()
}
