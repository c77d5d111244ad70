//! EBU Tech 3341 (version 4, 2023), Table 1: signals 1-6 and 9-23. Signals 7 and
//! 8 are recordings and cannot be made.

use crate::signals::{amplitude, check, check_between, fade, measure, sine, tones};
use cupel_measure::{Loudness, LoudnessMeter, Summary};
use std::f64::consts::PI;

const RATES_HZ: [u32; 3] = [44_100, 48_000, 96_000];
const SILENT: f64 = f64::NEG_INFINITY;

fn stereo(rate_hz: u32, parts: &[(f64, f64)]) -> Summary {
    let side = tones(rate_hz, parts);
    measure(rate_hz, &[&side, &side]).summary
}

#[test]
fn signals_1_and_2_read_alike_on_all_scales() {
    for rate_hz in RATES_HZ {
        for (number, level) in [(1, -23.0), (2, -33.0)] {
            let summary = stereo(rate_hz, &[(20.0, level)]);
            let name = |scale| format!("3341 #{number} {scale} at {rate_hz} Hz");
            check(&name("M"), summary.max_momentary_lufs, level, 0.1);
            check(&name("S"), summary.max_short_term_lufs, level, 0.1);
            check(&name("I"), summary.integrated_lufs, level, 0.1);
        }
    }
}

#[test]
fn signals_3_to_5_pass_the_gates() {
    let signals: [&[(f64, f64)]; 3] = [
        &[(10.0, -36.0), (60.0, -23.0), (10.0, -36.0)],
        &[
            (10.0, -72.0),
            (10.0, -36.0),
            (60.0, -23.0),
            (10.0, -36.0),
            (10.0, -72.0),
        ],
        &[(20.0, -26.0), (20.1, -20.0), (20.0, -26.0)],
    ];
    for rate_hz in RATES_HZ {
        for (index, parts) in signals.iter().enumerate() {
            let name = format!("3341 #{} I at {rate_hz} Hz", index + 3);
            check(&name, stereo(rate_hz, parts).integrated_lufs, -23.0, 0.1);
        }
    }
}

#[test]
fn signal_6_weighs_five_channels() {
    for rate_hz in RATES_HZ {
        let channels: Vec<Vec<f64>> = [-28.0, -28.0, -24.0, -30.0, -30.0]
            .iter()
            .map(|&level| tones(rate_hz, &[(20.0, level)]))
            .collect();
        let planes: Vec<&[f64]> = channels.iter().map(|c| &c[..]).collect();
        let mut meter = LoudnessMeter::with_weights(rate_hz, &[1.0, 1.0, 1.0, 1.41, 1.41]).unwrap();
        meter.push(&planes);
        let name = format!("3341 #6 I at {rate_hz} Hz");
        check(&name, meter.finish().integrated_lufs, -23.0, 0.1);
    }
}

/// The smallest and largest value of a curve from an index on.
fn span(curve: &[f32], from: usize) -> [Option<f64>; 2] {
    let values = curve[from..].iter().map(|&v| f64::from(v));
    let low = values.clone().fold(f64::INFINITY, f64::min);
    [Some(low), Some(values.fold(f64::NEG_INFINITY, f64::max))]
}

#[test]
fn signals_9_and_12_hold_still() {
    let short_term = tones(48_000, &[(1.34, -20.0), (1.66, -30.0)].repeat(5));
    let curve = measure(48_000, &[&short_term, &short_term]).curve;
    for value in span(&curve.short_term_lufs, 29) {
        check("3341 #9 S", value, -23.0, 0.1);
    }
    let momentary = tones(48_000, &[(0.18, -20.0), (0.22, -30.0)].repeat(25));
    let curve = measure(48_000, &[&momentary, &momentary]).curve;
    for value in span(&curve.momentary_lufs, 9) {
        check("3341 #12 M", value, -23.0, 0.1);
    }
}

#[test]
fn signals_10_and_13_find_the_maximum_anywhere() {
    for i in 0..20 {
        let late = f64::from(i);
        let parts = [(late * 0.15, SILENT), (3.0, -23.0), (1.0, SILENT)];
        let name = format!("3341 #10 segment {i} max S");
        let summary = stereo(48_000, &parts);
        check(&name, summary.max_short_term_lufs, -23.0, 0.1);
        let parts = [(late * 0.02, SILENT), (0.4, -23.0), (1.0, SILENT)];
        let name = format!("3341 #13 segment {i} max M");
        let summary = stereo(48_000, &parts);
        check(&name, summary.max_momentary_lufs, -23.0, 0.1);
    }
}

/// Pushes the segments one after another and reads the running maximum after
/// each.
fn running(segment: impl Fn(f64) -> Vec<(f64, f64)>) -> Vec<Loudness> {
    let mut meter = LoudnessMeter::with_weights(48_000, &[1.0, 1.0]).unwrap();
    let mut read = Vec::new();
    for i in 0..20 {
        let side = tones(48_000, &segment(f64::from(i)));
        meter.push(&[&side, &side]);
        read.push(meter.clone().finish());
    }
    read
}

#[test]
fn signals_11_and_14_follow_rising_segments() {
    let short = running(|i| {
        vec![
            (i * 0.15, SILENT),
            (3.0, -38.0 + i),
            (3.0 - i * 0.15, SILENT),
        ]
    });
    let momentary = running(|i| {
        vec![
            (i * 0.02, SILENT),
            (0.4, -38.0 + i),
            (0.4 - i * 0.02, SILENT),
        ]
    });
    for (i, (short, momentary)) in short.iter().zip(&momentary).enumerate() {
        let want = -38.0 + i as f64;
        let name = |signal| format!("3341 #{signal} segment {i}");
        check(&name("11 max S"), short.max_short_term_lufs, want, 0.1);
        check(&name("14 max M"), momentary.max_momentary_lufs, want, 0.1);
    }
}

fn check_true_peak(name: &str, mut side: Vec<f64>, want: f64) {
    fade(&mut side, 480);
    let peak = measure(48_000, &[&side, &side]).summary.true_peak_dbtp;
    check_between(name, peak, want - 0.4, want + 0.2);
}

#[test]
fn signals_15_to_19_peak_between_samples() {
    let cases = [
        (15, 4.0, 0.50, 0.0, -6.0),
        (16, 4.0, 0.50, 45.0, -6.0),
        (17, 6.0, 0.50, 60.0, -6.0),
        (18, 8.0, 0.50, 67.5, -6.0),
        (19, 4.0, 1.41, 45.0, 3.0),
    ];
    for (number, divisor, amplitude, phase_degrees, want) in cases {
        let phase = phase_degrees * PI / 180.0;
        let side = sine(48_000, 48_000.0 / divisor, amplitude, phase, 48_000);
        check_true_peak(&format!("3341 #{number}"), side, want);
    }
}

/// A low-pass at 0.9 of half the final rate, for material at four times it:
/// 1023 taps under a Hann window.
fn low_pass(samples: &[f64]) -> Vec<f64> {
    const REACH: isize = 511;
    let cutoff = 0.9 / 8.0;
    let taps: Vec<f64> = (-REACH..=REACH)
        .map(|n| {
            let x = 2.0 * PI * cutoff * n as f64;
            let sinc = if n == 0 { 1.0 } else { x.sin() / x };
            let hann = 0.5 + 0.5 * (PI * n as f64 / (REACH + 1) as f64).cos();
            2.0 * cutoff * sinc * hann
        })
        .collect();
    let at = |n: isize| samples.get(n as usize).copied().unwrap_or(0.0);
    (0..samples.len() as isize)
        .map(|n| {
            (-REACH..=REACH)
                .map(|k| taps[(k + REACH) as usize] * at(n + k))
                .sum()
        })
        .collect()
}

#[test]
fn signals_20_to_23_hold_one_louder_period() {
    // At four times the rate: fs/6 is 24 samples a period, fs/4 is 16.
    let quiet = sine(192_000, 8_000.0, 0.5, 0.0, 24 * 200);
    let loud = sine(192_000, 12_000.0, 1.0, 0.0, 16);
    let high = low_pass(&[&quiet[..], &loud, &quiet].concat());
    for offset in 0..4 {
        let side = high.iter().skip(offset).step_by(4).copied().collect();
        check_true_peak(&format!("3341 #{}", 20 + offset), side, 0.0);
    }
}

#[test]
fn levels_in_the_table_are_peaks() {
    // Signal 1 of the table: the text says peak level, so a sample reaches it.
    let side = tones(48_000, &[(1.0, -23.0)]);
    let peak = side.iter().fold(0.0f64, |p, x| p.max(x.abs()));
    assert!((peak - amplitude(-23.0)).abs() < 1e-9);
}
