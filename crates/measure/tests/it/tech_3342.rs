//! EBU Tech 3342 (2016), Table 1: signals 1-4. Signals 5 and 6 are recordings.

use crate::signals::{check, measure, tones};

#[test]
fn signals_1_to_4() {
    let signals: [(&[f64], f64); 4] = [
        (&[-20.0, -30.0], 10.0),
        (&[-20.0, -15.0], 5.0),
        (&[-40.0, -20.0], 20.0),
        (&[-50.0, -35.0, -20.0, -35.0, -50.0], 15.0),
    ];
    for rate_hz in [44_100, 48_000, 96_000] {
        for (index, (levels, want)) in signals.iter().enumerate() {
            let parts: Vec<(f64, f64)> = levels.iter().map(|&level| (20.0, level)).collect();
            let side = tones(rate_hz, &parts);
            let range = measure(rate_hz, &[&side, &side]).summary.loudness_range_lu;
            let name = format!("3342 #{} LRA at {rate_hz} Hz", index + 1);
            check(&name, range, *want, 1.0);
        }
    }
}

#[test]
fn under_three_seconds_has_no_range() {
    let side = tones(48_000, &[(2.9, -20.0)]);
    assert_eq!(measure(48_000, &[&side]).summary.loudness_range_lu, None);
}
