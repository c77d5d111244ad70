//! Long-term one-third octaves against IEC 61260-1:2014, Table 1, class 1:
//! stepped tones on both sides of every band, read in all bands at once.

use crate::signals::{fade, measure, sine};
use cupel_measure::BandLevel;

/// Breakpoints for one-third octaves (Formula 9 applied to Table 1), as
/// `(f/fm, smallest, largest)` relative attenuation in dB, inside the band.
const INSIDE: [(f64, f64, f64); 5] = [
    (1.0, -0.4, 0.4),
    (1.02667, -0.4, 0.5),
    (1.05575, -0.4, 0.7),
    (1.08746, -0.4, 1.4),
    (1.12202, -0.4, 5.3),
];
/// Outside it, where only the smallest attenuation is limited.
const OUTSIDE: [(f64, f64); 5] = [
    (1.12202, 1.2),
    (1.29437, 16.6),
    (1.88173, 40.5),
    (3.05365, 60.0),
    (5.39195, 70.0),
];

/// Linear in the logarithm of frequency, as the standard says.
fn between(ratio: f64, a: (f64, f64), b: (f64, f64)) -> f64 {
    let part = (ratio / a.0).ln() / (b.0 / a.0).ln();
    a.1 + part * (b.1 - a.1)
}

/// Smallest and largest attenuation allowed at a distance from the middle.
fn limits_db(ratio: f64) -> (f64, f64) {
    let ratio = ratio.max(1.0 / ratio);
    for pair in INSIDE.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if ratio <= b.0 {
            return (-0.4, between(ratio, (a.0, a.2), (b.0, b.2)));
        }
    }
    for pair in OUTSIDE.windows(2) {
        if ratio <= pair[1].0 {
            return (between(ratio, pair[0], pair[1]), f64::INFINITY);
        }
    }
    (70.0, f64::INFINITY)
}

/// Distances of the tones from a band's middle: the breakpoints, the places
/// half-way between, and both sides of the edge.
const STEPS: [f64; 13] = [
    1.0, 1.0133, 1.02667, 1.0411, 1.05575, 1.0715, 1.08746, 1.1047, 1.1215, 1.1226, 1.205, 1.29437,
    1.88173,
];

/// Smallest margin seen, in a band's passband and outside.
#[derive(Debug)]
struct Margins {
    inside_db: f64,
    outside_db: f64,
}

fn check_tone(rate_hz: u32, frequency_hz: f64, top_hz: f64, margins: &mut Margins) {
    let seconds = if frequency_hz < 400.0 { 6.0 } else { 2.0 };
    let frames = (seconds * f64::from(rate_hz)) as usize;
    // Slow fades, so that the tone itself is narrow enough.
    let mut tone = sine(rate_hz, frequency_hz, 0.5, 0.0, frames);
    fade(&mut tone, frames * 2 / 5);
    let summary = measure(rate_hz, &[&tone]).summary;
    let bands = summary.third_octaves.iter();
    for band in bands.filter(|band| band.nominal_hz <= top_hz) {
        let level_db = band.level_dbfs.unwrap_or(-200.0);
        let attenuation_db = summary.rms_dbfs.unwrap() - level_db;
        note(band, frequency_hz, attenuation_db, margins);
    }
}

fn note(band: &BandLevel, frequency_hz: f64, attenuation_db: f64, margins: &mut Margins) {
    let middle_hz = (band.low_hz * band.high_hz).sqrt();
    let (least_db, most_db) = limits_db(frequency_hz / middle_hz);
    let margin_db = (attenuation_db - least_db).min(most_db - attenuation_db);
    assert!(
        margin_db >= 0.0,
        "{} Hz band, tone at {frequency_hz} Hz: {attenuation_db} dB not in {least_db}..{most_db}",
        band.nominal_hz
    );
    let smallest = if most_db.is_finite() {
        &mut margins.inside_db
    } else {
        &mut margins.outside_db
    };
    *smallest = smallest.min(margin_db);
}

/// Tones around every `stride`-th band, read in all bands up to `top_hz`.
fn meets_class_1(rate_hz: u32, top_hz: f64, stride: usize) {
    let mut margins = Margins {
        inside_db: f64::INFINITY,
        outside_db: f64::INFINITY,
    };
    for x in (-17..=13).step_by(stride) {
        let middle_hz = 1000.0 * 10f64.powf(f64::from(x) / 10.0);
        for step in STEPS {
            for frequency_hz in [middle_hz / step, middle_hz * step] {
                // Beyond 0.46 of the rate nothing can be told from its image.
                if (10.0..0.46 * f64::from(rate_hz)).contains(&frequency_hz) {
                    check_tone(rate_hz, frequency_hz, top_hz, &mut margins);
                }
            }
        }
    }
    println!("class 1 at {rate_hz} Hz, smallest margins: {margins:?}");
}

#[test]
fn class_1_at_48_khz_to_20_khz() {
    meets_class_1(48_000, 20_000.0, 1);
}

#[test]
fn class_1_at_44_1_khz_to_16_khz() {
    meets_class_1(44_100, 16_000.0, 1);
}

#[test]
fn class_1_at_96_khz_to_20_khz() {
    meets_class_1(96_000, 20_000.0, 3);
}

/// Nominal frequencies, IEC 61260-1:2014, Annex E.
#[test]
fn bands_reach_as_far_as_the_rate_allows() {
    let names = |rate_hz| {
        let silence = vec![0.0; 4800];
        let bands = measure(rate_hz, &[&silence]).summary.third_octaves;
        let names: Vec<f64> = bands.iter().map(|band| band.nominal_hz).collect();
        (names[0], names[names.len() - 1], names.len())
    };
    assert_eq!(names(48_000), (20.0, 20_000.0, 31));
    assert_eq!(names(44_100), (20.0, 16_000.0, 30));
    assert_eq!(names(192_000), (20.0, 20_000.0, 31));
    assert_eq!(names(16_000), (20.0, 6_300.0, 26));
}

/// White noise rises by exactly 1 dB a base-ten one-third octave, and a band of
/// it holds its share of the whole.
#[test]
fn white_noise_is_shared_out_by_width() {
    let noise = crate::signals::Noise(5).take(48_000 * 120);
    let summary = measure(48_000, &[&noise]).summary;
    for band in &summary.third_octaves {
        let share_db = 10.0 * ((band.high_hz - band.low_hz) / 24_000.0).log10();
        let error_db = band.level_dbfs.unwrap() - summary.rms_dbfs.unwrap() - share_db;
        // A band B wide over T seconds varies by 4.34 / sqrt(B T) dB; four times that.
        let width_hz = band.high_hz - band.low_hz;
        let tolerance_db = 4.0 * 4.34 / (width_hz * 120.0).sqrt();
        assert!(
            error_db.abs() < tolerance_db,
            "{} Hz: {error_db} dB, allowed {tolerance_db}",
            band.nominal_hz
        );
    }
}
