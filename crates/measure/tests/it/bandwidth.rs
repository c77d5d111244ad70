//! The brick-wall limit: found where there is one, and only there.

use crate::signals::{Noise, fade, measure, sine};
use realfft::RealFftPlanner;

/// Noise with everything from `limit_hz` on taken out of its spectrum.
fn cut_noise(rate_hz: u32, limit_hz: f64, seed: u64) -> Vec<f64> {
    const SIZE: usize = 1 << 18;
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(SIZE);
    let mut samples = Noise(seed).take(SIZE);
    let mut spectrum = forward.make_output_vec();
    forward.process(&mut samples, &mut spectrum).unwrap();
    let first = (limit_hz / f64::from(rate_hz) * SIZE as f64) as usize;
    spectrum[first..].fill(Default::default());
    let inverse = planner.plan_fft_inverse(SIZE);
    inverse.process(&mut spectrum, &mut samples).unwrap();
    let mut noise: Vec<f64> = samples.iter().map(|x| 0.2 * x / SIZE as f64).collect();
    // A cut end is a click, and a click reaches to the top.
    fade(&mut noise, 4_000);
    noise
}

fn limit(rate_hz: u32, samples: &[f64]) -> Option<f64> {
    measure(rate_hz, &[samples]).summary.bandwidth_hz
}

#[test]
fn cuts_are_found_where_they_are() {
    for rate_hz in [44_100, 48_000] {
        for cut_hz in [11_000.0, 16_000.0, 19_000.0, 20_000.0] {
            let found = limit(rate_hz, &cut_noise(rate_hz, cut_hz, 3)).unwrap();
            println!("{cut_hz} Hz at {rate_hz} Hz: {found}");
            assert!((found - cut_hz).abs() < 100.0, "{found} for {cut_hz}");
        }
    }
}

/// A low-pass of fourth order at 8 kHz falls by 24 dB an octave, a musical
/// roll-off; noise to the top and sparse tones have no wall either.
#[test]
fn gentle_slopes_and_tones_have_no_wall() {
    let noise = Noise(4).take(1 << 18);
    assert_eq!(limit(48_000, &noise), None);
    let mut soft = noise;
    let pole = (-2.0 * std::f64::consts::PI * 8_000.0 / 48_000.0f64).exp();
    for _ in 0..4 {
        let mut last = 0.0;
        for x in &mut soft {
            last += (1.0 - pole) * (*x - last);
            *x = last;
        }
    }
    assert_eq!(limit(48_000, &soft), None);
    let tones: Vec<f64> = (1..15)
        .map(|k| {
            sine(
                48_000,
                1000.0 * f64::from(k),
                0.1 / f64::from(k),
                0.0,
                1 << 18,
            )
        })
        .reduce(|a, b| a.iter().zip(&b).map(|(x, y)| x + y).collect())
        .unwrap();
    assert_eq!(limit(48_000, &tones), None);
}
