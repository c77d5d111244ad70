//! Processor time of the meter on 300 s of synthetic stereo at 48 kHz.
//!
//! `cargo run --release -p cupel-measure --example time_meter [RUNS]`

use cupel_measure::{Meter, MeterSettings};
use std::time::Instant;

const RATE_HZ: u32 = 48_000;
const SECONDS: usize = 300;
const BLOCK: usize = 16_384;

/// A beat at 120 bpm: falling sine kicks, noise hats, a bass note and a noise
/// bed, a little different on each side.
fn track() -> [Vec<f64>; 2] {
    let mut seed = 1u64;
    let mut noise = move || {
        seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1);
        (seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0
    };
    let frames = RATE_HZ as usize * SECONDS;
    let mut sides = [Vec::with_capacity(frames), Vec::with_capacity(frames)];
    for n in 0..frames {
        let t = n as f64 / f64::from(RATE_HZ);
        let beat = t % 0.5;
        let kick = 0.7
            * (-beat * 9.0).exp()
            * (300.0 * (1.0 - (-beat * 30.0).exp()) / 30.0 + 314.0 * beat).sin();
        let hat = 0.3 * (-((t + 0.25) % 0.5) * 30.0).exp();
        let bass = 0.15 * (t * 345.0).sin();
        for side in &mut sides {
            side.push((kick + bass + hat * noise() + 0.02 * noise()).clamp(-0.95, 0.95));
        }
    }
    sides
}

/// Seconds this process has spent on a processor, where the system tells
/// (Linux); else since `start`.
fn used_s(start: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/self/schedstat").ok();
    let nanoseconds = told.and_then(|line| line.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| start.elapsed().as_secs_f64(), |ns| ns * 1e-9)
}

fn main() {
    let origin = Instant::now();
    let runs = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(5);
    let [left, right] = track();
    let settings = MeterSettings {
        sample_rate_hz: RATE_HZ,
        channels: 2,
    };
    let mut times_s = Vec::new();
    for _ in 0..runs {
        let start_s = used_s(origin);
        let Ok(mut meter) = Meter::new(settings) else {
            return;
        };
        for (left, right) in left.chunks(BLOCK).zip(right.chunks(BLOCK)) {
            meter.push(&[left, right]);
        }
        let summary = meter.finish().summary;
        times_s.push(used_s(origin) - start_s);
        println!(
            "{:.3} s, {:?} LUFS, {:?} dBTP",
            times_s[times_s.len() - 1],
            summary.integrated_lufs,
            summary.true_peak_dbtp
        );
    }
    times_s.sort_by(f64::total_cmp);
    println!(
        "median {:.3} s of processor time for {SECONDS} s",
        times_s[times_s.len() / 2]
    );
}
