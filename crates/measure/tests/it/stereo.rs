//! Lean, width, correlation and mono loss: identities that follow from their
//! definitions.

use crate::signals::{Noise, check, measure, sine};
use cupel_measure::Summary;

const RATE_HZ: u32 = 48_000;
const FRAMES: usize = 4 * 48_000;

fn stereo(left: &[f64], right: &[f64]) -> Summary {
    measure(RATE_HZ, &[left, right]).summary
}

fn scaled(samples: &[f64], gain: f64) -> Vec<f64> {
    samples.iter().map(|x| gain * x).collect()
}

fn noise(seed: u64) -> Vec<f64> {
    scaled(&Noise(seed).take(FRAMES), 0.2)
}

#[test]
fn mono_files_play_on_both_sides() {
    let samples = noise(1);
    let one = measure(RATE_HZ, &[&samples]).summary;
    let both = stereo(&samples, &samples);
    assert_eq!(one.integrated_lufs, both.integrated_lufs);
    assert_eq!(one.true_peak_dbtp, both.true_peak_dbtp);
    assert_eq!(one.rms_dbfs, both.rms_dbfs);
    for summary in [one, both] {
        assert_eq!(summary.lean_db, Some(0.0));
        assert_eq!(summary.width_db, None);
        check("correlation", summary.correlation, 1.0, 1e-12);
        check("mono loss", summary.mono_loss_lu, 0.0, 1e-9);
        for band in summary.third_octaves.iter().chain(&summary.broad_bands) {
            check("band lean", band.lean_db, 0.0, 1e-5);
            assert_eq!(band.width_db, None);
            check("band correlation", band.correlation, 1.0, 1e-6);
        }
    }
}

#[test]
fn one_channel_alone_is_3_01_lu_quieter() {
    let samples = noise(2);
    let silent = vec![0.0; FRAMES];
    let alone = stereo(&samples, &silent);
    let both = measure(RATE_HZ, &[&samples]).summary;
    let difference = both.integrated_lufs.unwrap() - alone.integrated_lufs.unwrap();
    check("both less one", Some(difference), 3.0103, 1e-3);
    assert_eq!(alone.correlation, None);
    assert_eq!(alone.lean_db, Some(-100.0));
    check("width of one side", alone.width_db, 0.0, 1e-9);
    // Half the amplitude on both sides: a quarter of the power, twice.
    check("mono loss of one side", alone.mono_loss_lu, -3.0103, 1e-3);
    assert_eq!(stereo(&silent, &samples).lean_db, Some(100.0));
}

#[test]
fn inverted_sides_cancel() {
    let samples = noise(3);
    let summary = stereo(&samples, &scaled(&samples, -1.0));
    check("correlation", summary.correlation, -1.0, 1e-12);
    assert_eq!(summary.width_db, Some(100.0));
    assert_eq!(summary.mono_loss_lu, Some(-100.0));
}

#[test]
fn independent_sides() {
    let summary = stereo(&noise(4), &noise(5));
    // 1 / sqrt(N) for N samples; four times that.
    check(
        "correlation",
        summary.correlation,
        0.0,
        4.0 / (FRAMES as f64).sqrt(),
    );
    check("width", summary.width_db, 0.0, 0.1);
    check("lean", summary.lean_db, 0.0, 0.05);
    check("mono loss", summary.mono_loss_lu, -3.0103, 0.1);
}

#[test]
fn a_panned_mono_source_leans_and_stays_whole() {
    let samples = noise(6);
    let summary = stereo(&scaled(&samples, 0.25), &samples);
    check("lean", summary.lean_db, 20.0 * 4f64.log10(), 1e-9);
    check("correlation", summary.correlation, 1.0, 1e-12);
    for band in &summary.third_octaves {
        check("band lean", band.lean_db, 20.0 * 4f64.log10(), 1e-4);
    }
    // (1.25 / 2)^2 * 2 over 1 + 1/16.
    let want = 10.0 * (2.0 * 0.625f64.powi(2) / 1.0625).log10();
    check("mono loss", summary.mono_loss_lu, want, 1e-3);
}

/// r = (1 - q) / (1 + q) for a mid and an independent side of power ratio q.
#[test]
fn width_is_side_over_mid() {
    let (mid, side) = (noise(7), scaled(&noise(8), 0.5));
    let left: Vec<f64> = mid.iter().zip(&side).map(|(m, s)| m + s).collect();
    let right: Vec<f64> = mid.iter().zip(&side).map(|(m, s)| m - s).collect();
    let summary = stereo(&left, &right);
    check("width", summary.width_db, -6.0206, 0.05);
    check("correlation", summary.correlation, 0.6, 0.01);
    // Only the mid is left: 1 / (1 + q), q = 1/4.
    check("mono loss", summary.mono_loss_lu, -0.9691, 0.05);
}

/// A sine shifted by phi correlates as cos(phi), in its own band too.
#[test]
fn phase_shift_correlates_as_its_cosine() {
    for phi in [0.3f64, 1.0, 2.0, 2.8] {
        for (frequency_hz, nominal_hz) in [(100.0, 100.0), (1000.0, 1000.0)] {
            let left = sine(RATE_HZ, frequency_hz, 0.3, 0.0, FRAMES);
            let right = sine(RATE_HZ, frequency_hz, 0.3, phi, FRAMES);
            let summary = stereo(&left, &right);
            check("correlation", summary.correlation, phi.cos(), 1e-6);
            let band = summary
                .third_octaves
                .iter()
                .find(|b| b.nominal_hz == nominal_hz);
            check("in the band", band.unwrap().correlation, phi.cos(), 1e-3);
        }
    }
}

#[test]
fn stereo_figures_belong_to_their_bands() {
    // The bass leans left, the tone at 3 kHz right.
    let bass = sine(RATE_HZ, 60.0, 0.2, 0.0, FRAMES);
    let high = sine(RATE_HZ, 3000.0, 0.2, 0.0, FRAMES);
    let mix = |a: f64, b: f64| -> Vec<f64> {
        bass.iter().zip(&high).map(|(x, y)| a * x + b * y).collect()
    };
    let summary = stereo(&mix(1.0, 0.1), &mix(0.1, 1.0));
    let lean = |index: usize| summary.broad_bands[index].lean_db;
    check("below 120 Hz", lean(0), -20.0, 0.05);
    check("2 to 8 kHz", lean(3), 20.0, 0.05);
    check("all", summary.lean_db, 0.0, 1e-3);
}

#[test]
fn low_shares() {
    // Equal powers at 40, 100, 135 and 1000 Hz.
    let tones = [40.0, 100.0, 135.0, 1000.0].map(|hz| sine(RATE_HZ, hz, 0.1, 0.0, 10 * FRAMES));
    let sum: Vec<f64> = (0..10 * FRAMES)
        .map(|n| tones.iter().map(|t| t[n]).sum())
        .collect();
    let low = measure(RATE_HZ, &[&sum]).summary.low_share;
    check("below 60", low.below_60_db, 10.0 * 0.25f64.log10(), 0.02);
    check("below 120", low.below_120_db, 10.0 * 0.5f64.log10(), 0.02);
    check("below 150", low.below_150_db, 10.0 * 0.75f64.log10(), 0.02);
    // A sine of amplitude 0.1 has a mean square of -23.01 dB.
    check("below 60, absolute", low.below_60_dbfs, -23.01, 0.02);
}
