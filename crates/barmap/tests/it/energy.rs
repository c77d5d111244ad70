//! No energy is lost, and each lies where it belongs.

use std::f64::consts::PI;

use cupel_barmap::{BarMapMeter, Side};
use cupel_rhythm::BarLines;

use crate::sound::*;

#[test]
fn the_sum_of_all_rows_is_the_energy() {
    let lines = lines(124.0, 4, 4, 0.1);
    let left = noise(1, 400_000);
    let right: Vec<f64> = noise(2, 400_000)
        .iter()
        .zip(&left)
        .map(|(r, l)| 0.5 * r + 0.3 * l)
        .collect();
    let map = map(&lines, &[&left, &right]);
    let span = |s: f64| (s * RATE_HZ) as usize;
    let (from, to) = (span(lines.bar_starts_s[0]), span(lines.bar_starts_s[4]));
    let power = |x: &[f64]| x[from..to].iter().map(|x| x * x).sum::<f64>() / (to - from) as f64;
    let mid: Vec<f64> = left
        .iter()
        .zip(&right)
        .map(|(l, r)| 0.5 * (l + r))
        .collect();
    for (side, samples) in [
        (Side::Left, &left),
        (Side::Right, &right),
        (Side::Mid, &mid),
    ] {
        let sum: f64 = (0..map.rows.len())
            .flat_map(|row| (0..16).map(move |slot| (row, slot)))
            .map(|(row, slot)| map.power(side, row, slot) / 16.0)
            .sum();
        // White noise has 22387 Hz of its 24000 Hz in the rows.
        let expected = power(samples) * 22_387.0 / 24_000.0;
        let error = db(sum / expected);
        assert!(error.abs() < 0.03, "{side:?}: {error} dB");
    }
}

#[test]
fn white_noise_fills_rows_by_their_width() {
    // Closed form: noise spread evenly in +-0.5 has the power 1/12 over 24 kHz.
    let lines = lines(124.0, 4, 16, 0.1);
    let map = map(&lines, &[&noise(7, (31.5 * RATE_HZ) as usize)]);
    for (row, band) in map.rows.iter().enumerate() {
        let expected = (band.high_hz - band.low_hz) / 24_000.0 / 12.0;
        let error = db(map.row_mean(row) / expected);
        // Three standard errors of 31 s of noise: 13 dB over the root of 2 B T.
        let most = 13.0 / (2.0 * (band.high_hz - band.low_hz) * 31.0).sqrt();
        assert!(
            error.abs() < most.max(0.06),
            "{} Hz: {error} dB of {most}",
            band.centre_hz
        );
    }
}

#[test]
fn the_low_rows_hold_the_energy_of_the_low_end() {
    // Many tones with random phases between 20 Hz and 140 Hz: their power is known.
    let lines = lines(128.0, 4, 8, 0.2);
    let frames = (16.0 * RATE_HZ) as usize;
    let mut channel = vec![0.0; frames];
    let tones = 40;
    for tone in 0..tones {
        let hertz = 20.0 + 3.0 * f64::from(tone) + 0.137;
        let phase = 2.4 * f64::from(tone * tone);
        for (n, x) in channel.iter_mut().enumerate() {
            *x += 0.05 * (2.0 * PI * hertz * n as f64 / RATE_HZ + phase).sin();
        }
    }
    let map = map(&lines, &[&channel]);
    let low = |row: &usize| map.rows[*row].is_low();
    let sum: f64 = (0..map.rows.len())
        .filter(low)
        .map(|row| map.row_mean(row))
        .sum();
    let error = db(sum / (f64::from(tones) * 0.05 * 0.05 / 2.0));
    assert!(error.abs() < 0.1, "{error} dB");
    // And above 151 Hz next to nothing of it: the windows hold it together.
    let above: f64 = (0..map.rows.len())
        .filter(|row| !low(row))
        .skip(1)
        .map(|row| map.row_mean(row))
        .sum();
    assert!(db(above / sum) < -34.0, "{} dB", db(above / sum));
}

/// A burst lies in its slot and row: at least `least_db` above every other slot
/// of the row.
fn check_burst(
    hertz: f64,
    start_s: f64,
    seconds: f64,
    lines: &BarLines,
    slot: usize,
    least_db: f64,
) {
    let mut channel = vec![0.0; (10.0 * RATE_HZ) as usize];
    for bar in 0..lines.bars() {
        let at = lines.bar_starts_s[bar] + start_s;
        add_tone(&mut channel, at, at + seconds, hertz, 0.5);
    }
    let map = map(lines, &[&channel]);
    let row = map
        .rows
        .iter()
        .position(|row| row.low_hz <= hertz && hertz < row.high_hz)
        .expect("a row for every frequency");
    let here = db(map.mean(row, slot));
    for other in (0..map.slots).filter(|&other| other != slot) {
        let there = db(map.mean(row, other).max(1e-14));
        assert!(
            here - there > least_db,
            "{hertz} Hz: slot {other} at {there}, {slot} at {here}"
        );
    }
    let loudest =
        (0..map.rows.len()).max_by(|&a, &b| map.mean(a, slot).total_cmp(&map.mean(b, slot)));
    assert_eq!(loudest, Some(row), "{hertz} Hz");
}

#[test]
fn a_hit_lies_in_its_sixteenth() {
    let lines = lines(124.0, 4, 4, 0.25);
    let slot_s = 60.0 / 124.0 / 4.0;
    for slot in [0, 3, 10, 15] {
        let start_s = slot as f64 * slot_s;
        check_burst(3000.0, start_s, 0.05, &lines, slot, 40.0);
        check_burst(60.0, start_s, 0.08, &lines, slot, 25.0);
        // 7 ms early still counts.
        check_burst(
            3000.0,
            start_s + if slot == 0 { 0.0 } else { -0.007 },
            0.05,
            &lines,
            slot,
            40.0,
        );
    }
}

#[test]
fn swung_sixteenths_lie_in_theirs() {
    let mut lines = lines(118.0, 4, 4, 0.25);
    lines.swing = 0.62;
    let pair_s = 60.0 / 118.0 / 2.0;
    check_burst(3000.0, 0.62 * pair_s, 0.04, &lines, 1, 40.0);
    check_burst(3000.0, 3.0 * pair_s, 0.04, &lines, 6, 40.0);
}

#[test]
fn blocks_and_clock_change_nothing() {
    let lines = lines(131.0, 3, 3, 1.5);
    let (left, right) = (noise(3, 300_000), noise(4, 300_000));
    let whole = map(&lines, &[&left, &right]);
    for size in [1, 997, 4096, 50_000] {
        let mut meter = BarMapMeter::new(RATE_HZ, 2, &lines, 0.0);
        for (left, right) in left.chunks(size).zip(right.chunks(size)) {
            meter.push(&[left, right]);
        }
        assert!(meter.finish() == whole, "blocks of {size}");
    }
    // The same sound, heard from 1 s on. The low end starts its filters anew
    // on another sample: no more than rounding.
    let mut meter = BarMapMeter::new(RATE_HZ, 2, &lines, 1.0);
    meter.push(&[&left[48_000..], &right[48_000..]]);
    let later = meter.finish();
    for row in 0..whole.rows.len() {
        let error = db(later.row_mean(row) / whole.row_mean(row));
        assert!(error.abs() < 0.01, "{row}: {error}");
    }
}

#[test]
fn mono_plays_on_both_sides() {
    let lines = lines(120.0, 4, 2, 0.1);
    let channel = noise(5, 220_000);
    let one = map(&lines, &[&channel]);
    let two = map(&lines, &[&channel, &channel]);
    assert_eq!(one.left, one.right);
    assert_eq!(one.left, one.mid);
    for row in 0..one.rows.len() {
        assert!(db(one.row_mean(row) / two.row_mean(row)).abs() < 1e-4);
    }
}

#[test]
fn silence_and_nonsense_give_silence() {
    let lines = lines(120.0, 4, 2, 0.1);
    let silent = map(&lines, &[&[0.0; 1000]]);
    assert!(
        (0..silent.rows.len()).all(|row| (0..16).all(|slot| silent.level_db(row, slot).is_none()))
    );
    let wrong = map(&lines, &[&[f64::NAN; 1000], &[f64::INFINITY; 1000]]);
    assert_eq!(wrong.left, silent.left);
    let none = BarLines {
        bar_starts_s: vec![],
        ..lines
    };
    let empty = map(&none, &[&[0.5; 1000]]);
    assert_eq!((empty.bars, empty.total()), (0, 0.0));
}

#[test]
fn spread_is_that_of_the_bars() {
    // Levels of the bars +-3 dB: the standard deviation is 3 dB.
    let lines = lines(120.0, 4, 4, 0.1);
    let mut channel = vec![0.0; 500_000];
    for bar in 0..4 {
        let start_s = lines.bar_starts_s[bar] + 0.5;
        let amplitude = 0.1 * 10f64.powf(if bar % 2 == 0 { 3.0 } else { -3.0 } / 20.0);
        add_tone(&mut channel, start_s, start_s + 0.09, 1000.0, amplitude);
    }
    let map = map(&lines, &[&channel]);
    let row = map
        .rows
        .iter()
        .position(|row| row.centre_hz == 1000.0)
        .unwrap();
    let spread = map.spread_db[row * 16 + 4].unwrap();
    assert!((spread - 3.0).abs() < 0.01, "{spread}");
}
