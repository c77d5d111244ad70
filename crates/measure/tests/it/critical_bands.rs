//! Critical-band energy over time: nothing lost, nothing counted twice.

use crate::signals::{Noise, measure, sine};
use cupel_measure::{BandFrames, CRITICAL_BANDS, Meter, MeterSettings};

fn energy(bands: &BandFrames, rate_hz: u32) -> f64 {
    let powers = (0..bands.frames).flat_map(|f| (0..CRITICAL_BANDS).map(move |b| (f, b)));
    let sum: f64 = powers.map(|(f, b)| bands.power(f, b)).sum();
    sum * bands.hop_s * f64::from(rate_hz)
}

/// A click has the energy of its sample, wherever it falls: at the ends, at the
/// borders of blocks and frames, or between.
#[test]
fn a_click_counts_once_anywhere() {
    for rate_hz in [44_100, 48_000, 96_000] {
        for place in [0, 1, 511, 1023, 1024, 2047, 3000, 4999] {
            let mut click = vec![0.0; 5000];
            click[place] = 0.5;
            let features = measure(rate_hz, &[&click, &click]);
            let error_db = 10.0 * (energy(&features.bands, rate_hz) / 0.25).log10();
            // Codes are steps of 0.01 dB.
            assert!(
                error_db.abs() < 0.006,
                "{rate_hz} Hz, {place}: {error_db} dB"
            );
            let octaves = &features.summary.broad_bands;
            let sum: f64 = octaves
                .iter()
                .map(|band| 10f64.powf(band.level_dbfs.unwrap() / 10.0))
                .sum();
            let error_db = 10.0 * (sum * 5000.0 / 0.25).log10();
            assert!(
                error_db.abs() < 0.02,
                "{rate_hz} Hz, {place}: {error_db} dB"
            );
        }
    }
}

#[test]
fn noise_keeps_its_energy_on_both_sides() {
    let mut noise = Noise(11);
    let (left, right) = (noise.take(30_011), noise.take(30_011));
    let bands = measure(48_000, &[&left, &right]).bands;
    let sum = |samples: &[f64]| samples.iter().map(|x| x * x).sum::<f64>();
    let mid: Vec<f64> = left
        .iter()
        .zip(&right)
        .map(|(l, r)| 0.5 * (l + r))
        .collect();
    let want = [sum(&left), sum(&right), sum(&mid)];
    let mut got = [0.0; 3];
    for frame in 0..bands.frames {
        for band in 0..CRITICAL_BANDS {
            got[0] += bands.left(frame, band);
            got[1] += bands.right(frame, band);
            got[2] += bands.mid(frame, band);
        }
    }
    for (got, want) in got.iter().zip(want) {
        let ratio = got * bands.hop_s * 48_000.0 / want;
        assert!((ratio - 1.0).abs() < 1e-3, "{ratio}");
    }
}

/// A tone in the middle of a band is read there, in time and level.
#[test]
fn a_tone_reads_in_its_band_and_time() {
    let mut samples = vec![0.0; 48_000];
    samples.extend(sine(48_000, 1000.0, 0.5, 0.0, 48_000));
    samples.extend(vec![0.0; 48_000]);
    let bands = measure(48_000, &[&samples]).bands;
    // 920 to 1080 Hz.
    let band = 8;
    assert_eq!(bands.edges_hz[band..band + 2], [920.0, 1080.0]);
    let during = bands.band_power_between(1.1, 1.9);
    let level_db = 10.0 * during[band].log10();
    assert!(
        (level_db - 20.0 * 0.5f64.log10() + 3.01).abs() < 0.02,
        "{level_db}"
    );
    assert!(during[band - 2] < 1e-4 * during[band]);
    assert!(during[band + 2] < 1e-4 * during[band]);
    assert_eq!(bands.band_power_between(0.0, 0.9)[band], 0.0);
    assert_eq!(bands.band_power_between(2.1, 2.9)[band], 0.0);
    assert_eq!(
        bands.band_power_between(5.0, 9.0),
        vec![0.0; CRITICAL_BANDS]
    );
}

/// A click shows only in the frames that reach it: the resolution as stated.
#[test]
fn energy_spreads_no_further_than_a_frame() {
    let mut click = vec![0.0; 96_000];
    click[48_000] = 1.0;
    let bands = measure(48_000, &[&click]).bands;
    assert!((bands.window_s - 0.08533).abs() < 1e-4);
    assert!((bands.hop_s - 0.02133).abs() < 1e-4);
    for frame in 0..bands.frames {
        let far = (bands.centre_s(frame) - 1.0).abs() > 0.5 * bands.window_s;
        let silent = (0..CRITICAL_BANDS).all(|band| bands.power(frame, band) == 0.0);
        assert_eq!(silent, far, "frame {frame}");
    }
}

/// 20 minutes in stereo stay under 9 MB.
#[test]
fn frames_stay_small() {
    let second = vec![0.1; 48_000];
    let bands = measure(48_000, &[&second, &second]).bands;
    let bytes_a_second = 2.0 * 3.0 * CRITICAL_BANDS as f64 / bands.hop_s;
    assert_eq!(bands.left.len(), bands.frames * CRITICAL_BANDS);
    assert_eq!(bands.mid.len(), bands.left.len());
    assert!(bytes_a_second * 1200.0 < 9e6, "{bytes_a_second}");
}

/// Bands taken in parts, put together, are those of one piece; a meter without
/// them measures everything else alike.
#[test]
fn parts_make_the_whole() {
    let sound = Noise(7).take(50_000);
    let whole = measure(48_000, &[&sound, &sound]);
    let settings = MeterSettings {
        sample_rate_hz: 48_000,
        channels: 2,
    };
    let mut meter = Meter::new(settings).unwrap();
    let mut parts: Vec<BandFrames> = Vec::new();
    for chunk in sound.chunks(7_000) {
        meter.push(&[chunk, chunk]);
        parts.push(meter.take_bands());
    }
    parts.push(meter.finish().bands);
    let mut joined = parts.remove(0);
    parts.iter().for_each(|part| joined.append(part));
    assert_eq!(joined, whole.bands);

    let mut meter = Meter::new(settings).unwrap().without_bands();
    meter.push(&[&sound, &sound]);
    let without = meter.finish();
    assert_eq!((without.bands.frames, without.summary), (0, whole.summary));
}
