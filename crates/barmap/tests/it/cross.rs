//! Cross-terms against the plain sum.

use cupel_barmap::{CrossMeter, Side};

use crate::sound::*;

#[test]
fn the_map_of_a_sum_follows_from_the_cross_terms() {
    let lines = lines(126.0, 4, 3, 0.15);
    let frames = 300_000;
    // Two layers that share much, a stereo pair, and one alone.
    let kick = noise(1, frames);
    let layer: Vec<f64> = kick
        .iter()
        .zip(noise(2, frames))
        .map(|(a, b)| -0.6 * a + 0.2 * b)
        .collect();
    let (pad_left, pad_right) = (noise(3, frames), noise(4, frames));
    let mut tone = vec![0.0; frames];
    add_tone(&mut tone, 0.0, 6.0, 55.0, 0.5);
    let gains = [1.0, 0.7, 1.4, 0.5];

    let channels = [1, 1, 2, 1];
    let mut meter = CrossMeter::new(RATE_HZ, &channels, &lines, 0.0)
        .with_bars(|rows| rows.iter().map(|row| row.low_hz.sqrt()).collect());
    for from in (0..frames).step_by(10_007) {
        let to = (from + 10_007).min(frames);
        let cut = |x: &'static str| -> Vec<&[f64]> {
            match x {
                "kick" => vec![&kick[from..to]],
                "layer" => vec![&layer[from..to]],
                "pad" => vec![&pad_left[from..to], &pad_right[from..to]],
                _ => vec![&tone[from..to]],
            }
        };
        let tracks = ["kick", "layer", "pad", "tone"].map(cut);
        let block: Vec<&[&[f64]]> = tracks.iter().map(Vec::as_slice).collect();
        meter.push(&block);
    }
    let cross = meter.finish();

    let sum = |pad: &[f64]| -> Vec<f64> {
        (0..frames)
            .map(|n| {
                gains[0] * kick[n] + gains[1] * layer[n] + gains[2] * pad[n] + gains[3] * tone[n]
            })
            .collect()
    };
    let truth = map(&lines, &[&sum(&pad_left), &sum(&pad_right)]);
    let ours = cross.sum(&gains);
    for row in 0..truth.rows.len() {
        for slot in 0..16 {
            for side in Side::ALL {
                let error = db(ours.power(side, row, slot) / truth.power(side, row, slot));
                assert!(error.abs() < 0.01, "{side:?} {row} {slot}: {error}");
            }
        }
    }
    // The bars by themselves have the mean of the map's cells, by their weights.
    for (side, right) in [(Side::Left, false), (Side::Right, true)] {
        let pairs = cross.triangle(side, 0, 0).len();
        for pair in 0..pairs {
            let mean: f64 = (0..cross.bars)
                .map(|bar| f64::from(cross.bar(bar, right)[pair]))
                .sum::<f64>()
                / cross.bars as f64;
            let cells = (0..cross.rows.len()).flat_map(|row| (0..16).map(move |slot| (row, slot)));
            let (mut wanted, mut size) = (0.0, 0.0);
            for (row, slot) in cells {
                let value = f64::from(cross.triangle(side, row, slot)[pair]);
                let weighted = cross.rows[row].low_hz.sqrt() * value;
                wanted += weighted;
                size += weighted.abs();
            }
            assert!(
                (mean - wanted).abs() < 1e-4 * size,
                "{pair}: {mean} {wanted}"
            );
        }
    }
    // Without cross-terms the two layers, which cancel, would be far off.
    let mut plain = cross.of(&[0]);
    assert!(plain.add(&cross.of(&[1])));
    assert!(db(plain.total() / cross.of(&[0, 1]).total()) > 5.0);

    // Parts add up to the power, and are half its slope by the logarithm of gain.
    let parts = cross.parts(Side::Left, 40, 5, &gains);
    let power = cross.power(Side::Left, 40, 5, &gains);
    assert!((parts.iter().sum::<f64>() - power).abs() < 1e-12);
    let mut more = gains;
    more[1] *= 1.0 + 1e-5;
    let slope = (cross.power(Side::Left, 40, 5, &more) - power) / 1e-5;
    assert!(
        (slope / 2.0 - parts[1]).abs() < 1e-3 * parts[1].abs(),
        "{slope} {}",
        parts[1]
    );
    assert_eq!(cross.pair(2, 1), cross.pair(1, 2));
    let triangle = cross.triangle(Side::Mid, 40, 5);
    assert_eq!(triangle.len(), 10);
    assert!(triangle[cross.pair(0, 1)] < 0.0, "layers of opposite sign");
}

#[test]
fn no_tracks_no_terms() {
    let lines = lines(126.0, 4, 3, 0.15);
    let mut meter = CrossMeter::new(RATE_HZ, &[], &lines, 0.0);
    meter.push(&[]);
    let cross = meter.finish();
    assert_eq!(cross.tracks, 0);
    assert_eq!(cross.sum(&[]).total(), 0.0);
}
