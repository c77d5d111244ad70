//! Processor time of the map of a 30 s passage, and of the cross-terms of 24 tracks.
//!
//! ```text
//! cargo run --release -p cupel-barmap --example time_maps
//! ```

use cupel_barmap::{BarMapMeter, CrossMeter};
use cupel_rhythm::BarLines;

const RATE_HZ: f64 = 48_000.0;
const BLOCK: usize = 4096;

fn noise(seed: u64, frames: usize) -> Vec<f64> {
    let mut state = 2 * seed + 1;
    (0..frames)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) as f64 / f64::from(1u32 << 31) - 0.5
        })
        .collect()
}

/// Time on the processor so far, as Linux counts it; 0 elsewhere.
fn cpu_s() -> f64 {
    let text = std::fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    let first = text.split(' ').next().and_then(|ns| ns.parse::<f64>().ok());
    first.unwrap_or(0.0) * 1e-9
}

fn main() {
    let bar_s = 240.0 / 128.0;
    let lines = BarLines {
        bar_starts_s: (0..=16).map(|bar| 0.06 + f64::from(bar) * bar_s).collect(),
        beats_per_bar: 4,
        swing: 0.5,
    };
    let frames = (30.1 * RATE_HZ) as usize;
    let sides = [noise(1, frames), noise(2, frames)];

    let mut times_s: Vec<f64> = (0..9)
        .map(|_| {
            let start_s = cpu_s();
            let mut meter = BarMapMeter::new(RATE_HZ, 2, &lines, 0.0);
            for (left, right) in sides[0].chunks(BLOCK).zip(sides[1].chunks(BLOCK)) {
                meter.push(&[left, right]);
            }
            assert!(meter.finish().total() > 0.0);
            cpu_s() - start_s
        })
        .collect();
    times_s.sort_by(f64::total_cmp);
    println!(
        "bar map, 16 bars stereo: best {:.4} s, median {:.4} s",
        times_s[0], times_s[4]
    );

    let tracks: Vec<[Vec<f64>; 2]> = (0..24)
        .map(|seed| [noise(2 * seed + 10, frames), noise(2 * seed + 11, frames)])
        .collect();
    let start_s = cpu_s();
    let mut meter = CrossMeter::new(RATE_HZ, &[2; 24], &lines, 0.0);
    for from in (0..frames).step_by(BLOCK) {
        let to = (from + BLOCK).min(frames);
        let cut: Vec<[&[f64]; 2]> = tracks
            .iter()
            .map(|sides| sides.each_ref().map(|x| &x[from..to]))
            .collect();
        let block: Vec<&[&[f64]]> = cut.iter().map(<[_; 2]>::as_slice).collect();
        meter.push(&block);
    }
    assert_eq!(meter.finish().tracks, 24);
    println!("cross map, 24 stereo tracks: {:.2} s", cpu_s() - start_s);
}
