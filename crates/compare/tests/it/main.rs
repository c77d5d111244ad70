//! Parts of the distance, on signals with known answers.

#![allow(clippy::unwrap_used)] // in tests a failed step should end the test

use cupel_compare::{Spectrum, differences, parts_of};
use cupel_measure::{Features, Meter, MeterSettings};

const RATE_HZ: u32 = 48_000;

/// Measures a stereo signal given as a function of the frame.
fn measure(frames: u32, sample: impl Fn(u32) -> (f64, f64)) -> Features {
    let settings = MeterSettings {
        sample_rate_hz: RATE_HZ,
        channels: 2,
    };
    let mut meter = Meter::new(settings).unwrap();
    let (left, right): (Vec<f64>, Vec<f64>) = (0..frames).map(sample).unzip();
    meter.push(&[&left, &right]);
    meter.finish()
}

fn tone(frequency_hz: f64, frame: u32) -> f64 {
    (std::f64::consts::TAU * frequency_hz * f64::from(frame) / f64::from(RATE_HZ)).sin()
}

/// A gain on everything is no distance; a gain on one of two tones is that
/// gain, shared between the two bands at equal loudness.
#[test]
fn a_common_gain_is_no_distance() {
    let mix = |low: f64, high: f64, right: f64| {
        measure(5 * RATE_HZ, move |n| {
            let x = low * tone(100.0, n) + high * tone(1000.0, n);
            (x, right * x)
        })
        .summary
    };
    let (plain, loud) = (mix(0.1, 0.1, 1.0), mix(0.4, 0.4, 1.0));
    let parts = parts_of(&loud, &plain);
    assert!(parts.spectrum_db.unwrap() < 0.01, "{parts:?}");
    assert!(parts.low_end_db.unwrap().abs() < 0.01 && parts.lean_db.unwrap().abs() < 0.01);
    let bassy = parts_of(&mix(0.2, 0.1, 1.0), &plain);
    // +6.02 dB less the loudness it brings: K-weighting -1.13 dB at 100 Hz and
    // +0.70 dB at 1 kHz (ITU-R BS.1770 Tables 1 and 2).
    let (low, high) = (10f64.powf(-0.1133), 10f64.powf(0.0698));
    let expected = 6.0206 - 10.0 * ((4.0 * low + high) / (low + high)).log10();
    assert!(
        (bassy.low_end_db.unwrap() - expected).abs() < 0.02,
        "{bassy:?} {expected}"
    );
    let leaning = parts_of(&mix(0.1, 0.1, 0.5), &plain);
    assert!(
        (leaning.lean_db.unwrap() + 6.0206).abs() < 0.01,
        "{leaning:?}"
    );
}

#[test]
fn differences_name_the_band() {
    let with_tone = |hertz: f64| {
        measure(5 * RATE_HZ, move |n| {
            let x = 0.1 * tone(1000.0, n) + 0.1 * tone(hertz, n);
            (x, x)
        })
        .summary
    };
    let (mix, reference) = (with_tone(250.0), with_tone(4000.0));
    let bands = differences(
        &Spectrum::of(&mix).unwrap(),
        &Spectrum::of(&reference).unwrap(),
    );
    let at = |hertz: f64| {
        bands
            .iter()
            .find(|b| b.nominal_hz == hertz)
            .unwrap()
            .difference_db
    };
    assert!(at(250.0).unwrap() > 40.0 && at(4000.0).unwrap() < -40.0);
    // The tone both have differs by the loudness that the others bring: the
    // K-weighted power of 1 kHz + 250 Hz against 1 kHz + 4 kHz (gains +0.70,
    // -0.15 and +3.97 dB, ITU-R BS.1770 Tables 1 and 2).
    let power = |db: f64| 10f64.powf(db / 10.0);
    let expected = 10.0 * ((power(0.698) + power(3.968)) / (power(0.698) + power(-0.153))).log10();
    assert!((at(1000.0).unwrap() - expected).abs() < 0.05, "{expected}");
}
