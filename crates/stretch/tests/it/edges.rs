//! Ends, seams, clicks, and plans that cannot be followed.

use cupel_stretch::{StretchError, StretchPlan, stretch, warn_beyond};

use crate::material::{RATE_HZ, bed, frame, hits, plan, tones};

#[test]
fn the_same_grid_gives_the_same_samples() {
    let mut input = bed(frame(6.0), 0.1, 4);
    hits(&mut input, 0.5, 120.0, 2);
    let output = stretch(&[input.clone()], RATE_HZ, &plan(0.5, 120.0, 8, 120.0, 0.0)).unwrap();
    assert_eq!(output[0].len(), frame(4.0));
    // But for the seam, where what came before the passage is laid under its end.
    let pairs = output[0].iter().zip(&input[frame(0.5)..]).take(frame(3.9));
    for (n, (out, given)) in pairs.enumerate() {
        assert!((out - given).abs() < 1e-12, "{out} not {given} at {n}");
    }
}

#[test]
fn silence_stays_silent() {
    let output = stretch(
        &[vec![0.0; frame(4.0)]],
        RATE_HZ,
        &plan(0.5, 120.0, 4, 125.0, 2.0),
    )
    .unwrap();
    assert!(output[0].iter().all(|x| *x == 0.0));
}

/// Low tones have no high frequencies: a click in them is a jump of the slope. Nowhere,
/// the seam included, does it jump more than twice as much as in the input.
#[test]
fn no_clicks_in_low_tones() {
    // Two bars at 120 BPM hold whole cycles of both: the loop has no seam of its own.
    let input = tones(frame(6.0), &[80.0, 200.0], 0.3);
    let jump = |channel: &[f64]| {
        let around = channel
            .iter()
            .chain(channel.iter().take(2))
            .copied()
            .collect::<Vec<_>>();
        around
            .windows(3)
            .map(|w| (w[2] - 2.0 * w[1] + w[0]).abs())
            .fold(0.0, f64::max)
    };
    let output = stretch(&[input.clone()], RATE_HZ, &plan(0.5, 120.0, 8, 128.0, 0.0)).unwrap();
    let (found, given) = (jump(&output[0]), jump(&input[..frame(4.0)]));
    assert!(
        found <= 2.0 * given,
        "{found} in the output, {given} in the input"
    );
}

#[test]
fn the_same_twice() {
    let mut input = bed(frame(6.0), 0.1, 4);
    hits(&mut input, 0.5, 120.0, 2);
    let plan = plan(0.5, 120.0, 8, 111.0, 1.5);
    let once = stretch(&[input.clone(), input.clone()], RATE_HZ, &plan).unwrap();
    assert_eq!(
        once,
        stretch(&[input.clone(), input], RATE_HZ, &plan).unwrap()
    );
}

/// A passage at the very start of a file, and one up to its very end.
#[test]
fn passages_may_touch_the_ends() {
    let mut input = bed(frame(4.0), 0.1, 4);
    hits(&mut input, 0.0, 120.0, 2);
    let output = stretch(&[input], RATE_HZ, &plan(0.0, 120.0, 8, 115.0, -1.0)).unwrap();
    assert_eq!(output[0].len(), frame(8.0 * 60.0 / 115.0));
    assert!(output[0].iter().all(|x| x.is_finite() && x.abs() < 4.0));
}

#[test]
fn plans_that_cannot_be_followed() {
    let input = vec![vec![0.0; frame(2.0)]];
    let check = |anchors: &[(f64, f64)], semitones: f64, wanted: StretchError| {
        let plan = StretchPlan {
            anchors: anchors.to_vec(),
            semitones,
            onsets_s: vec![],
        };
        assert_eq!(stretch(&input, RATE_HZ, &plan), Err(wanted));
    };
    let good = [(0.0, 0.0), (1.0, 1.0)];
    check(&good[..1], 0.0, StretchError::TooFewAnchors { given: 1 });
    check(
        &[(1.0, 0.0), (1.0, 1.0)],
        0.0,
        StretchError::NotRising { index: 1 },
    );
    check(&[(0.0, 0.0), (f64::NAN, 1.0)], 0.0, StretchError::NotFinite);
    check(
        &[(0.0, 0.0), (3.0, 3.0)],
        0.0,
        StretchError::OutsideInput {
            input_s: 3.0,
            length_s: 2.0,
        },
    );
    check(
        &[(0.0, 0.0), (1.0, 2.5)],
        0.0,
        StretchError::TooFar {
            index: 0,
            given: 2.5,
        },
    );
    check(
        &good,
        3.5,
        StretchError::TooManySemitones {
            given: 3.5,
            most: 3.0,
        },
    );
    let plan = StretchPlan {
        anchors: good.to_vec(),
        ..StretchPlan::default()
    };
    assert_eq!(stretch(&[], RATE_HZ, &plan), Err(StretchError::NoChannels));
    assert_eq!(stretch(&input, 0, &plan), Err(StretchError::NoRate));
    let uneven = [vec![0.0; 96_000], vec![0.0; 9]];
    let wanted = StretchError::UnequalChannels {
        channel: 1,
        frames: 9,
        expected: 96_000,
    };
    assert_eq!(stretch(&uneven, RATE_HZ, &plan), Err(wanted));
    assert!((warn_beyond() - 0.08).abs() < 1e-12);
}
