//! The stereo image stays.

use cupel_stretch::stretch;

use crate::material::{RATE_HZ, bed, frame, hits, plan, tones};

fn passage() -> Vec<f64> {
    let mut channel = tones(frame(6.0), &[110.0, 220.0, 554.37], 0.05);
    bed(frame(6.0), 0.01, 8)
        .iter()
        .zip(&mut channel)
        .for_each(|(noise, x)| *x += noise);
    hits(&mut channel, 0.5, 120.0, 2);
    channel
}

/// What differs in level and polarity alone still does after.
#[test]
fn levels_and_polarity_stay() {
    let left = passage();
    for factor in [1.0, 0.5, -1.0] {
        let right: Vec<f64> = left.iter().map(|x| factor * x).collect();
        let plan = plan(0.5, 120.0, 8, 126.0, 1.0);
        let output = stretch(&[left.clone(), right], RATE_HZ, &plan).unwrap();
        for (left, right) in output[0].iter().zip(&output[1]) {
            assert!((factor * left - right).abs() < 1e-9);
        }
    }
}

/// A tone a quarter of a cycle apart stays so: no correlation (closed form: the mean
/// of sine times cosine is 0, of sine times sine 1/2).
#[test]
fn phases_between_channels_stay() {
    let both = |hz: f64| {
        let turn = std::f64::consts::TAU * hz / f64::from(RATE_HZ);
        let sound = |shift: f64| -> Vec<f64> {
            (0..frame(6.0))
                .map(|n| 0.3 * (turn * n as f64 + shift).sin())
                .collect()
        };
        [sound(0.0), sound(std::f64::consts::FRAC_PI_2)]
    };
    for hz in [60.0, 330.0, 2500.0] {
        let output = stretch(&both(hz), RATE_HZ, &plan(0.5, 120.0, 8, 112.0, -2.0)).unwrap();
        let sum = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let (l, r) = (&output[0], &output[1]);
        let correlation = sum(l, r) / (sum(l, l) * sum(r, r)).sqrt();
        assert!(correlation.abs() < 0.01, "{correlation} at {hz} Hz");
    }
}
