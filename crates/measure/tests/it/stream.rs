//! How a stream is cut changes nothing; odd streams give answers, not surprises.

use crate::signals::{Noise, measure, music, tones};
use cupel_measure::{Features, MeasureError, Meter, MeterSettings};

fn meter(sample_rate_hz: u32, channels: usize) -> Meter {
    let settings = MeterSettings {
        sample_rate_hz,
        channels,
    };
    Meter::new(settings).unwrap()
}

fn in_blocks(rate_hz: u32, sides: &[Vec<f64>; 2], sizes: &[usize]) -> Features {
    let mut meter = meter(rate_hz, 2);
    let (mut start, mut turn) = (0, 0);
    while start < sides[0].len() {
        let end = (start + sizes[turn % sizes.len()]).min(sides[0].len());
        meter.push(&[&sides[0][start..end], &sides[1][start..end]]);
        (start, turn) = (end, turn + 1);
    }
    meter.finish()
}

#[test]
fn block_sizes_change_nothing() {
    for rate_hz in [44_100, 48_000, 11_025] {
        let sides = music(rate_hz, 7.3, 17);
        let whole = measure(rate_hz, &[&sides[0], &sides[1]]);
        for sizes in [&[1024usize][..], &[1, 7, 4096, 0, 333], &[100_000], &[480]] {
            assert!(in_blocks(rate_hz, &sides, sizes) == whole, "{sizes:?}");
        }
    }
}

/// Every figure of a summary that can be missing.
fn figures(features: &Features) -> Vec<Option<f64>> {
    let s = &features.summary;
    let mut all = vec![
        s.integrated_lufs,
        s.loudness_range_lu,
        s.max_momentary_lufs,
        s.max_short_term_lufs,
        s.sample_peak_dbfs,
        s.true_peak_dbtp,
        s.rms_dbfs,
        s.crest_db,
        s.peak_to_loudness_lu,
        s.lean_db,
        s.width_db,
        s.correlation,
        s.mono_loss_lu,
        s.bandwidth_hz,
        s.low_share.below_60_db,
        s.low_share.below_120_db,
        s.low_share.below_150_db,
        s.low_share.below_60_dbfs,
        s.low_share.below_120_dbfs,
        s.low_share.below_150_dbfs,
    ];
    for band in s.third_octaves.iter().chain(&s.broad_bands) {
        all.extend([
            band.level_dbfs,
            band.lean_db,
            band.width_db,
            band.correlation,
        ]);
    }
    all
}

fn assert_sound(features: &Features) {
    for figure in figures(features).into_iter().flatten() {
        assert!(figure.is_finite(), "{features:?}");
    }
    assert!(features.curve.k_power.iter().all(|p| p.is_finite()));
    assert!(features.curve.momentary_lufs.iter().all(|l| !l.is_nan()));
}

#[test]
fn silence_and_nothing_have_no_figures() {
    let silence = vec![0.0; 200_000];
    for rate_hz in [8_000, 44_100, 48_000, 192_000] {
        for frames in [0, 1, 1023, 1024, 200_000] {
            let side = &silence[..frames];
            for features in [measure(rate_hz, &[side]), measure(rate_hz, &[side, side])] {
                assert!(figures(&features).iter().all(Option::is_none));
                assert_eq!(features.summary.frames, frames as u64);
            }
        }
    }
}

#[test]
fn one_sample() {
    let features = measure(48_000, &[&[0.5], &[-0.25]]);
    assert_sound(&features);
    let summary = &features.summary;
    assert_eq!(summary.integrated_lufs, None);
    assert_eq!(summary.mono_loss_lu, None);
    assert!((summary.sample_peak_dbfs.unwrap() + 6.0206).abs() < 1e-4);
    assert!((summary.lean_db.unwrap() + 6.0206).abs() < 1e-4);
    assert!((summary.correlation.unwrap() + 1.0).abs() < 1e-12);
    assert!(features.curve.k_power.is_empty());
}

/// BS.1770-5 Annex 1: a gating block is 400 ms, an incomplete one is not used.
#[test]
fn under_400_ms_has_no_loudness() {
    for (ms, measured) in [(399, false), (400, true)] {
        let side = tones(48_000, &[(f64::from(ms) / 1000.0, -20.0)]);
        let features = measure(48_000, &[&side]);
        assert_sound(&features);
        assert_eq!(features.summary.integrated_lufs.is_some(), measured);
        assert_eq!(features.summary.max_momentary_lufs.is_some(), measured);
        assert!(features.summary.true_peak_dbtp.is_some());
    }
}

#[test]
fn numbers_that_are_none_are_counted_and_left_out() {
    let mut bad = Noise(9).take(60_000);
    let mut good = bad.clone();
    for (place, value) in [
        (100, f64::NAN),
        (2000, f64::INFINITY),
        (3000, f64::NEG_INFINITY),
    ] {
        bad[place] = value;
        good[place] = 0.0;
    }
    let (bad, good) = (measure(48_000, &[&bad]), measure(48_000, &[&good]));
    assert_sound(&bad);
    assert_eq!(bad.summary.unusable_samples, 3);
    assert_eq!(good.summary.unusable_samples, 0);
    assert_eq!(bad.summary.integrated_lufs, good.summary.integrated_lufs);
    assert_eq!(bad.bands, good.bands);
}

#[test]
fn absurd_and_tiny_levels_stay_finite() {
    for scale in [1e300, 1e7, 1e3, 1e-8, 1e-300] {
        let samples: Vec<f64> = Noise(10).take(60_000).iter().map(|x| x * scale).collect();
        assert_sound(&measure(48_000, &[&samples, &samples]));
        assert_sound(&measure(48_000, &[&samples]));
    }
}

#[test]
fn settings_are_checked() {
    let given = |sample_rate_hz, channels| {
        Meter::new(MeterSettings {
            sample_rate_hz,
            channels,
        })
        .err()
    };
    assert_eq!(given(48_000, 3), Some(MeasureError::Channels { given: 3 }));
    assert_eq!(given(48_000, 0), Some(MeasureError::Channels { given: 0 }));
    assert!(matches!(
        given(0, 1),
        Some(MeasureError::SampleRate { given: 0, .. })
    ));
    assert_eq!(given(8_000, 1), None);
}

#[test]
fn gain_moves_levels_and_leaves_shapes() {
    let sides = music(48_000, 10.0, 21);
    let louder: Vec<Vec<f64>> = sides
        .iter()
        .map(|s| s.iter().map(|x| 2.0 * x).collect())
        .collect();
    let a = measure(48_000, &[&sides[0], &sides[1]]).summary;
    let b = measure(48_000, &[&louder[0], &louder[1]]).summary;
    let moved = |x: Option<f64>, y: Option<f64>| y.unwrap() - x.unwrap();
    for change in [
        moved(a.integrated_lufs, b.integrated_lufs),
        moved(a.max_momentary_lufs, b.max_momentary_lufs),
        moved(a.true_peak_dbtp, b.true_peak_dbtp),
        moved(a.rms_dbfs, b.rms_dbfs),
        moved(a.third_octaves[9].level_dbfs, b.third_octaves[9].level_dbfs),
    ] {
        assert!((change - 6.0206).abs() < 1e-3, "{change}");
    }
    for change in [
        moved(a.crest_db, b.crest_db),
        moved(a.width_db, b.width_db),
        moved(a.correlation, b.correlation),
        moved(a.mono_loss_lu, b.mono_loss_lu),
    ] {
        assert!(change.abs() < 1e-9, "{change}");
    }
}
