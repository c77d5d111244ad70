//! Agreement with an independent general-purpose loudness library (`ebur128`).

use crate::signals::{Noise, check, measure, music};
use cupel_measure::Summary;
use ebur128::{EbuR128, Mode};

struct Peer {
    meter: EbuR128,
    max_momentary: f64,
    max_short_term: f64,
}

/// Feeds the library in steps of 10 ms and keeps the largest readings.
fn peer(rate_hz: u32, sides: &[Vec<f64>; 2]) -> Peer {
    // Without the library's histogram, which rounds to 0.1 LU.
    let mode = Mode::I | Mode::M | Mode::S | Mode::LRA | Mode::SAMPLE_PEAK;
    let mut meter = EbuR128::new(2, rate_hz, mode).unwrap();
    let (mut max_momentary, mut max_short_term) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    let step = rate_hz as usize / 100;
    let mut fed = 0;
    for (left, right) in sides[0].chunks(step).zip(sides[1].chunks(step)) {
        meter.add_frames_planar_f64(&[left, right]).unwrap();
        fed += left.len();
        if fed >= rate_hz as usize * 4 / 10 {
            max_momentary = max_momentary.max(meter.loudness_momentary().unwrap());
        }
        if fed >= rate_hz as usize * 3 {
            max_short_term = max_short_term.max(meter.loudness_shortterm().unwrap());
        }
    }
    Peer {
        meter,
        max_momentary,
        max_short_term,
    }
}

fn compare(name: &str, rate_hz: u32, sides: &[Vec<f64>; 2]) -> Summary {
    let summary = measure(rate_hz, &[&sides[0], &sides[1]]).summary;
    let peer = peer(rate_hz, sides);
    let label = |figure: &str| format!("{name} at {rate_hz} Hz, {figure}");
    let integrated = peer.meter.loudness_global().unwrap();
    // The library leaves the high-pass numerator alone at other rates: up to
    // 0.03 dB.
    check(&label("I"), summary.integrated_lufs, integrated, 0.04);
    // It takes one 3 s value a second; ten are asked for.
    let range = peer.meter.loudness_range().unwrap();
    check(&label("LRA"), summary.loudness_range_lu, range, 0.5);
    check(
        &label("max M"),
        summary.max_momentary_lufs,
        peer.max_momentary,
        0.04,
    );
    check(
        &label("max S"),
        summary.max_short_term_lufs,
        peer.max_short_term,
        0.04,
    );
    let sample = |side| peer.meter.sample_peak(side).unwrap();
    let sample_dbfs = 20.0 * sample(0).max(sample(1)).log10();
    check(
        &label("sample peak"),
        summary.sample_peak_dbfs,
        sample_dbfs,
        1e-9,
    );
    summary
}

#[test]
fn noise_agrees() {
    for rate_hz in [44_100, 48_000, 88_200, 96_000, 192_000] {
        let frames = 24 * rate_hz as usize;
        let mut noise = Noise(7);
        let sides = [0, 1].map(|side| {
            let scale = 0.1 * f64::from(side + 1);
            let samples = noise.take(frames).into_iter().enumerate();
            // The level steps every six seconds, so that the gates and the range act.
            samples
                .map(|(n, x)| x * scale * 10f64.powf(-((n / rate_hz as usize / 6) as f64) * 0.3))
                .collect::<Vec<f64>>()
        });
        compare("noise", rate_hz, &sides);
    }
}

#[test]
fn music_agrees() {
    for rate_hz in [44_100, 48_000, 96_000] {
        compare("music", rate_hz, &music(rate_hz, 40.0, 3));
    }
}
