//! The resampler, measured from outside.
//!
//! Tones are fitted by least squares on their exact frequency, so that windows
//! need no allowance; what the fit leaves is images and aliases.

use std::f64::consts::TAU;

use cupel_audio::{Planar, Resampler};

use crate::support::{noise, sine};

fn resample(input_hz: u32, output_hz: u32, input: &[f64], block: usize) -> Vec<f64> {
    let mut resampler = Resampler::new(input_hz, output_hz, 1);
    let mut out = Planar::new(1, 0);
    for block in input.chunks(block) {
        resampler.process(&[block], &mut out);
    }
    resampler.finish(&mut out);
    out.channels.swap_remove(0)
}

/// Amplitude and phase of a tone, and the RMS of everything else.
fn fit(signal: &[f64], from: usize, frequency_hz: f64, rate_hz: f64) -> (f64, f64, f64) {
    let step = TAU * frequency_hz / rate_hz;
    let waves = || (from..).map(move |n| (step * n as f64).sin_cos());
    let (mut ss, mut sc, mut cc, mut sx, mut cx) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (x, (s, c)) in signal.iter().zip(waves()) {
        ss += s * s;
        sc += s * c;
        cc += c * c;
        sx += s * x;
        cx += c * x;
    }
    let determinant = ss * cc - sc * sc;
    let (a, b) = (
        (sx * cc - cx * sc) / determinant,
        (cx * ss - sx * sc) / determinant,
    );
    let rest: f64 = signal
        .iter()
        .zip(waves())
        .map(|(x, (s, c))| (x - a * s - b * c).powi(2))
        .sum();
    (a.hypot(b), b.atan2(a), (rest / signal.len() as f64).sqrt())
}

/// One tone through one pair of rates: gain, phase and what was added, all in dB
/// and radians, away from both ends.
fn tone(input_hz: u32, output_hz: u32, frequency_hz: f64) -> (f64, f64, f64) {
    let input_rate = f64::from(input_hz);
    let frames = input_hz as usize / 2;
    let out = resample(
        input_hz,
        output_hz,
        &sine(frequency_hz, input_rate, 1.0, frames),
        4_096,
    );
    let edge = out.len() / 10;
    let middle = &out[edge..out.len() - edge];
    let (gain, phase, rest) = fit(middle, edge, frequency_hz, f64::from(output_hz));
    (
        20.0 * gain.log10(),
        phase,
        20.0 * (rest * 2f64.sqrt()).log10(),
    )
}

const PAIRS: [(u32, u32); 8] = [
    (44_100, 48_000),
    (48_000, 44_100),
    (88_200, 48_000),
    (96_000, 48_000),
    (96_000, 44_100),
    (48_000, 96_000),
    (192_000, 44_100),
    (44_056, 48_000),
];

/// Flat within 0.1 dB to 20 kHz, on time (phase 0), nothing added above -110 dB.
#[test]
fn tones_in_the_pass_band() {
    let frequencies = [
        20.0, 100.0, 997.0, 5_000.0, 10_007.0, 15_000.0, 18_500.0, 19_990.0,
    ];
    for (input_hz, output_hz) in PAIRS {
        for frequency_hz in frequencies {
            let (gain_db, phase, rest_db) = tone(input_hz, output_hz, frequency_hz);
            let case = format!("{input_hz} -> {output_hz}, {frequency_hz} Hz");
            assert!(gain_db.abs() < 0.1, "{case}: {gain_db} dB");
            assert!(phase.abs() < 1e-5, "{case}: {phase} rad");
            assert!(rest_db < -110.0, "{case}: {rest_db} dB");
        }
    }
}

/// Tones between the pass-band edge and the Nyquist frequency may fade, but add
/// no images: going up, all of 20 kHz to 22.05 kHz.
#[test]
fn no_images_of_the_highest_tones() {
    for frequency_hz in [20_500.0, 21_000.0, 21_700.0, 22_000.0] {
        let (_, _, rest_db) = tone(44_100, 48_000, frequency_hz);
        assert!(rest_db < -110.0, "{frequency_hz} Hz: {rest_db} dB");
    }
}

/// Tones above the lower Nyquist frequency leave nothing, going down.
#[test]
fn no_aliases() {
    for (input_hz, output_hz, frequencies) in [
        (48_000u32, 44_100, [22_060.0, 22_500.0, 23_900.0]),
        (96_000, 48_000, [24_010.0, 30_000.0, 47_000.0]),
        (192_000, 44_100, [22_060.0, 40_000.0, 90_000.0]),
    ] {
        for frequency_hz in frequencies {
            let input = sine(
                frequency_hz,
                f64::from(input_hz),
                1.0,
                input_hz as usize / 2,
            );
            let out = resample(input_hz, output_hz, &input, 4_096);
            let edge = out.len() / 10;
            let middle = &out[edge..out.len() - edge];
            let power: f64 = middle.iter().map(|x| x * x).sum::<f64>() / middle.len() as f64;
            let level_db = 10.0 * (2.0 * power).log10();
            assert!(
                level_db < -110.0,
                "{frequency_hz} Hz at {input_hz}: {level_db} dB"
            );
        }
    }
}

/// An impulse at a time that both rates share lands on that frame, and its response
/// is the same on both sides.
#[test]
fn an_impulse_lands_on_its_frame() {
    for (input_hz, output_hz) in [(44_100u32, 48_000u32), (48_000, 44_100), (96_000, 48_000)] {
        let mut input = vec![0.0; input_hz as usize / 5];
        input[input_hz as usize / 10] = 1.0;
        let out = resample(input_hz, output_hz, &input, 1_000);
        let centre = output_hz as usize / 10;
        let highest = (0..out.len())
            .max_by(|a, b| out[*a].total_cmp(&out[*b]))
            .unwrap();
        assert_eq!(highest, centre, "{input_hz} -> {output_hz}");
        for n in 1..60 {
            let (before, after) = (out[centre - n], out[centre + n]);
            assert!(
                (before - after).abs() < 1e-12,
                "{input_hz} -> {output_hz}: {n}"
            );
        }
    }
}

#[test]
fn block_size_changes_no_bit() {
    let input = noise(7, 20_000);
    for (input_hz, output_hz) in PAIRS {
        let whole = resample(input_hz, output_hz, &input, input.len());
        for block in [1, 7, 1_000, 4_096] {
            assert!(
                whole == resample(input_hz, output_hz, &input, block),
                "{block}"
            );
        }
    }
}

#[test]
fn length_is_rounded_up() {
    for (frames, expected) in [
        (0usize, 0usize),
        (1, 2),
        (147, 160),
        (148, 162),
        (44_100, 48_000),
    ] {
        assert_eq!(
            resample(44_100, 48_000, &vec![0.1; frames], 999).len(),
            expected
        );
    }
}

#[test]
fn a_constant_stays() {
    let out = resample(44_100, 48_000, &vec![0.5; 4_410], 512);
    for x in &out[400..4_400] {
        assert!((x - 0.5).abs() < 1e-15, "{x}");
    }
}

/// After a seek, what comes has the bits of an unbroken run.
#[test]
fn seeking_changes_no_bit() {
    let input = noise(3, 30_000);
    for (input_hz, output_hz) in PAIRS {
        let whole = resample(input_hz, output_hz, &input, 512);
        let mut resampler = Resampler::new(input_hz, output_hz, 1);
        for frame in [0u64, 5, 100, 6_001] {
            let feed_from = resampler.seek(frame) as usize;
            let mut out = Planar::new(1, 0);
            resampler.process(&[&input[feed_from..]], &mut out);
            resampler.finish(&mut out);
            assert!(
                out.channels[0] == whole[frame as usize..],
                "{input_hz}: {frame}"
            );
        }
    }
}
