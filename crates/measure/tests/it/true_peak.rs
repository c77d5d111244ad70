//! True peak between two outside bounds: never over 0.1 dB below an independent
//! general-purpose library, nor over 0.1 dB above the band-limited waveform at
//! sixteen-fold oversampling.

use crate::signals::{Noise, check_between, fade, music};
use cupel_measure::TruePeak;
use ebur128::{EbuR128, Mode};
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;

/// The largest value of the periodic band-limited waveform through the samples,
/// at sixteen points a sample: zero-padding of the whole spectrum.
fn band_limited_peak(samples: &[f64]) -> f64 {
    const FACTOR: usize = 16;
    let size = samples.len();
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(size);
    let mut input = samples.to_vec();
    let mut spectrum = forward.make_output_vec();
    forward.process(&mut input, &mut spectrum).unwrap();
    spectrum[size / 2] *= 0.5;
    spectrum.resize(size * FACTOR / 2 + 1, Complex64::default());
    let inverse = planner.plan_fft_inverse(size * FACTOR);
    let mut wave = inverse.make_output_vec();
    inverse.process(&mut spectrum, &mut wave).unwrap();
    wave.iter().fold(0.0f64, |peak, x| peak.max(x.abs())) / size as f64
}

fn library_peak(rate_hz: u32, samples: &[f64]) -> f64 {
    let mut meter = EbuR128::new(1, rate_hz, Mode::TRUE_PEAK).unwrap();
    meter.add_frames_f64(samples).unwrap();
    meter.true_peak(0).unwrap()
}

fn own_peak(samples: &[f64]) -> f64 {
    let mut meter = TruePeak::new();
    meter.push(samples);
    meter.finish()
}

fn bounded(name: &str, rate_hz: u32, mut samples: Vec<f64>) {
    fade(&mut samples, 256);
    let db = |peak: f64| 20.0 * peak.log10();
    let own = db(own_peak(&samples));
    let library = db(library_peak(rate_hz, &samples));
    let exact = db(band_limited_peak(&samples));
    println!(
        "{name} at {rate_hz} Hz: less library {:.4}, less 16x {:.4} dB",
        own - library,
        own - exact
    );
    check_between(name, Some(own), library - 0.1, exact + 0.1);
}

/// Noise bursts that decay like a closed hi-hat, bright as `edge` says: each
/// sample less `edge` times the one before.
fn hats(frames: usize, seed: u64, edge: f64) -> Vec<f64> {
    let mut noise = Noise(seed);
    let mut last = 0.0;
    (0..frames)
        .map(|n| {
            let fresh = noise.next();
            let bright = fresh - edge * last;
            last = fresh;
            0.4 * bright * (-((n % 6000) as f64) / 1500.0).exp()
        })
        .collect()
}

const FRAMES: usize = 1 << 16;

#[test]
fn noisy_hats_are_bounded() {
    for seed in 0..12 {
        for edge in [0.0, 0.5, 0.95] {
            let name = format!("hats {edge} seed {seed}");
            bounded(&name, 48_000, hats(FRAMES, 100 + seed, edge));
        }
    }
}

#[test]
fn music_is_bounded() {
    for rate_hz in [44_100, 48_000, 96_000] {
        for seed in 0..4 {
            let [left, right] = music(rate_hz, 2.0, seed);
            let side = |s: Vec<f64>| s[..FRAMES].to_vec();
            bounded(&format!("music {seed} left"), rate_hz, side(left));
            bounded(&format!("music {seed} right"), rate_hz, side(right));
        }
    }
}

/// Hard-clipped material has its peaks where many samples sit at the ceiling.
#[test]
fn clipped_music_is_bounded() {
    for seed in 0..6 {
        let [left, _] = music(44_100, 2.0, seed);
        let clipped = left[..FRAMES].iter().map(|x| (3.0 * x).clamp(-0.9, 0.9));
        bounded(&format!("clipped {seed}"), 44_100, clipped.collect());
    }
}

/// The waveform of a steady sine between samples, at all phases: the reading
/// may not depend on where the samples fall.
#[test]
fn sines_read_their_amplitude() {
    for step in 0..40 {
        // Up to 0.45 of the rate, where the filters are still flat.
        let frequency = 0.011 * f64::from(step + 1);
        let mut samples: Vec<f64> = (0..20_000)
            .map(|n| (std::f64::consts::TAU * frequency * f64::from(n) + 0.3).sin())
            .collect();
        fade(&mut samples, 4000);
        let name = format!("sine at {frequency:.3} of the rate");
        check_between(&name, Some(20.0 * own_peak(&samples).log10()), -0.05, 0.02);
    }
}

/// What was loudest so far may only spare work, not change the result: a copy
/// of the loudest place behind it reads the same.
#[test]
fn skipping_changes_nothing() {
    for seed in 0..20 {
        let one = hats(6000, 900 + seed, 0.7);
        let twice: Vec<f64> = one.iter().chain(&one).copied().collect();
        let reversed_order: Vec<f64> = one
            .iter()
            .map(|x| 0.5 * x)
            .chain(one.iter().copied())
            .collect();
        let peak = own_peak(&one);
        assert!((own_peak(&twice) - peak).abs() < 2e-3 * peak);
        assert!((own_peak(&reversed_order) - peak).abs() < 2e-3 * peak);
    }
}
