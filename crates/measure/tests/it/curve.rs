//! Loudness over time, and the loudness of stretches.

use crate::signals::{check, measure, tones};
use cupel_measure::loudness_between;

#[test]
fn windows_end_where_the_index_says() {
    let side = tones(48_000, &[(5.0, f64::NEG_INFINITY), (5.0, -23.0)]);
    let curve = measure(48_000, &[&side, &side]).curve;
    assert_eq!(curve.k_power.len(), 100);
    assert_eq!(curve.momentary_lufs.len(), 100);
    // The tone begins at 5 s: entry 49 ends there, entry 53 is full.
    assert_eq!(curve.momentary_lufs[49], f32::NEG_INFINITY);
    check(
        "entry 53",
        Some(f64::from(curve.momentary_lufs[53])),
        -23.0,
        0.1,
    );
    check(
        "entry 79",
        Some(f64::from(curve.short_term_lufs[79])),
        -23.0,
        0.1,
    );
    assert!(curve.short_term_lufs[78] < -23.1);
}

/// Silence in front of a file moves its curve, nothing else.
#[test]
fn a_curve_on_another_clock() {
    let late = tones(48_000, &[(2.0, f64::NEG_INFINITY), (5.0, -23.0)]);
    let late = measure(48_000, &[&late, &late]).curve;
    let side = tones(48_000, &[(5.0, -23.0)]);
    let curve = measure(48_000, &[&side, &side]).curve;
    let moved = curve.starting_at(2.0);
    assert_eq!(moved.k_power.len(), late.k_power.len());
    for (index, (a, b)) in moved
        .short_term_lufs
        .iter()
        .zip(&late.short_term_lufs)
        .enumerate()
    {
        assert!(a == b || (a - b).abs() < 0.02, "{index}: {a} {b}");
    }
    let back = moved.starting_at(-2.0);
    assert_eq!(back.k_power, curve.k_power);
}

#[test]
fn early_windows_are_not_measured() {
    let side = tones(48_000, &[(4.0, -23.0)]);
    let curve = measure(48_000, &[&side, &side]).curve;
    let empty = |values: &[f32]| values.iter().all(|&v| v == f32::NEG_INFINITY);
    assert!(empty(&curve.momentary_lufs[..3]) && curve.momentary_lufs[3].is_finite());
    assert!(empty(&curve.short_term_lufs[..29]) && curve.short_term_lufs[29].is_finite());
}

#[test]
fn stretches() {
    let side = tones(48_000, &[(5.0, -33.0), (5.0, -23.0)]);
    let curve = measure(48_000, &[&side, &side]).curve;
    let between = |start_s, end_s| loudness_between(&curve, start_s, end_s);
    check("first half", between(0.0, 5.0), -33.0, 0.1);
    check("second half", between(5.0, 10.0), -23.0, 0.1);
    // Half of each: 10 log10((10^-3.3 + 10^-2.3) / 2) = -25.597.
    check("both", between(4.0, 6.0), -25.597, 0.1);
    check("part of an entry", between(7.03, 7.04), -23.0, 0.1);
    check("past the end", between(9.0, 99.0), -23.0, 0.1);
    assert_eq!(between(10.0, 12.0), None);
    assert_eq!(between(6.0, 5.0), None);
    assert_eq!(between(f64::NAN, 5.0), None);
}
