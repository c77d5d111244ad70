//! What can be read from a curve.

use cupel_rhythm::{OnsetCurve, OnsetMeter};

use crate::drums::{HOUSE, RATE_HZ};

fn curve_of(samples: &[f64]) -> OnsetCurve {
    let mut meter = OnsetMeter::new(RATE_HZ, 1);
    meter.push(&[samples]);
    meter.finish()
}

#[test]
fn hits_of_a_kick_name_its_place_and_band() {
    let samples = crate::drums::Beat {
        snare: "................",
        hat: "................",
        bass_by_bar: false,
        ..HOUSE
    }
    .samples();
    let curve = curve_of(&samples);
    // the drums end in a click, so only the low band is looked at
    let low: Vec<f64> = curve
        .hits()
        .filter(|hit| hit.band == 0)
        .map(|hit| hit.time_s)
        .collect();
    assert_eq!(low.len(), 4 * HOUSE.bars);
    for (beat, time_s) in low.iter().enumerate() {
        let place_s = HOUSE.start_s + beat as f64 * HOUSE.beat_s();
        assert!((time_s - place_s).abs() < 0.004, "{time_s} for {place_s}");
    }
    // 50 Hz after the sweep: nothing above 1.5 kHz but its start
    let hop = |time_s: f64| (time_s / curve.hop_s()) as usize;
    let inside = hop(HOUSE.start_s + 0.08);
    assert!(curve.power(0, inside) > 1e3 * curve.power(2, inside));
    assert!(curve.rise(0, hop(HOUSE.start_s)) > 1.0);
    assert_eq!(curve.band_edges_hz(2), Some((1500.0, 6000.0)));
    assert_eq!(curve.band_edges_hz(curve.band_count()), None);
}
