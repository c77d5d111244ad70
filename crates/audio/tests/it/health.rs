//! The bill of health on sounds with one known fault each.

use std::f64::consts::TAU;

use cupel_audio::{HealthCode, HealthGrade, HealthMeter, HealthNote};

use crate::support::{noise, sine};

const RATE_HZ: u32 = 48_000;
const FRAMES: usize = 48_000;

fn notes(channels: &[Vec<f64>]) -> Vec<HealthNote> {
    let mut meter = HealthMeter::new(RATE_HZ, channels.len());
    meter.push(channels);
    meter.finish()
}

fn codes(channels: &[Vec<f64>]) -> Vec<HealthCode> {
    notes(channels).iter().map(|note| note.code).collect()
}

/// A sound that starts and ends in silence.
fn faded(samples: Vec<f64>) -> Vec<f64> {
    let length = samples.len();
    let fade = |n: usize| ((n.min(length - 1 - n) as f64) / 9_600.0).min(1.0);
    samples
        .iter()
        .enumerate()
        .map(|(n, x)| x * fade(n))
        .collect()
}

fn clean(seed: u64) -> Vec<f64> {
    faded(noise(seed, FRAMES).iter().map(|x| 0.5 * x).collect())
}

fn quantised(samples: &[f64], bits: i32) -> Vec<f64> {
    let scale = 2f64.powi(bits - 1);
    samples
        .iter()
        .map(|x| (x * scale).round().min(scale - 1.0) / scale)
        .collect()
}

#[test]
fn clean_sounds_get_no_note() {
    assert_eq!(notes(&[clean(1), clean(2)]), []);
    assert_eq!(notes(&[clean(1)]), []);
}

#[test]
fn silence() {
    let nothing = &notes(&[vec![0.0; FRAMES]])[0];
    assert_eq!(
        (nothing.code, nothing.grade),
        (HealthCode::Silence, HealthGrade::Mend)
    );
    let almost = &notes(&[vec![10f64.powf(-91.0 / 20.0); FRAMES]])[0];
    assert_eq!(almost.code, HealthCode::Silence);
    assert!((almost.value.unwrap() + 91.0).abs() < 1e-9);
    let heard = faded(sine(997.0, 48_000.0, 10f64.powf(-89.0 / 20.0), FRAMES));
    assert_eq!(codes(&[heard]), []);
}

#[test]
fn channels_that_are_the_same_dead_or_inverted() {
    let sound = clean(1);
    let inverted = sound.iter().map(|x| -x).collect();
    assert_eq!(
        codes(&[sound.clone(), sound.clone()]),
        [HealthCode::IdenticalChannels]
    );
    assert_eq!(
        codes(&[sound.clone(), inverted]),
        [HealthCode::InvertedChannels]
    );
    let dead = &notes(&[vec![0.0; FRAMES], sound])[0];
    assert_eq!(dead.code, HealthCode::DeadChannel);
    assert!(dead.text.starts_with("the left channel is silent"));
}

#[test]
fn a_constant_offset() {
    let offset = |dbfs: f64| {
        faded(noise(1, FRAMES).iter().map(|x| 0.1 * x).collect())
            .iter()
            .map(|x| x + 10f64.powf(dbfs / 20.0))
            .collect::<Vec<_>>()
    };
    let note = &notes(&[offset(-50.0)])[0];
    assert_eq!(note.code, HealthCode::DcOffset);
    assert!((note.value.unwrap() + 50.0).abs() < 1.5, "{note:?}");
    assert!(!codes(&[offset(-75.0)]).contains(&HealthCode::DcOffset));
}

#[test]
fn clipped_at_full_scale() {
    for bits in [16, 24] {
        let loud: Vec<f64> = sine(110.0, 48_000.0, 1.5, FRAMES)
            .iter()
            .map(|x| x.clamp(-1.0, 1.0))
            .collect();
        let note = notes(&[quantised(&loud, bits)])
            .into_iter()
            .find(|note| note.code == HealthCode::ClippedRuns)
            .unwrap();
        assert_eq!(note.grade, HealthGrade::Mend);
        // 110 periods with a top and a bottom each.
        assert!(
            note.text.starts_with("220 clipped runs at full scale"),
            "{}",
            note.text
        );
        // The first top is reached at asin(1 / 1.5) / (2 pi 110 Hz).
        let first_s = (1.0f64 / 1.5).asin() / (TAU * 110.0);
        assert!((note.at_s.unwrap() - first_s).abs() < 1e-4);
    }
}

#[test]
fn flat_tops_below_full_scale() {
    let ceiling = 10f64.powf(-6.0 / 20.0);
    let flat: Vec<f64> = faded(sine(55.0, 48_000.0, 0.9, FRAMES))
        .iter()
        .map(|x| x.clamp(-ceiling, ceiling))
        .collect();
    let note = &notes(&[flat])[0];
    assert_eq!(
        (note.code, note.grade),
        (HealthCode::FlatTops, HealthGrade::Look)
    );
    assert!((note.value.unwrap() + 6.0).abs() < 1e-9);
    assert_eq!(note.unit.as_deref(), Some("dBFS"));
}

/// The crest of a slow wave has equal samples too once it is quantised; that is no
/// flat top.
#[test]
fn slow_waves_in_sixteen_bits_are_not_clipped() {
    for (frequency_hz, amplitude) in [(30.0, 1.0), (41.2, 0.5), (55.0, 0.2), (110.0, 0.05)] {
        let wave = quantised(&sine(frequency_hz, 48_000.0, amplitude, 10 * FRAMES), 16);
        let found = codes(&[wave]);
        assert!(!found.contains(&HealthCode::FlatTops), "{frequency_hz} Hz");
        assert!(
            !found.contains(&HealthCode::ClippedRuns),
            "{frequency_hz} Hz"
        );
    }
}

#[test]
fn nan_and_infinity_are_counted() {
    let mut sound = clean(1);
    sound[1_000] = f64::NAN;
    sound[24_000] = f64::NEG_INFINITY;
    sound[24_001] = f64::NAN;
    let notes = notes(&[sound]);
    assert_eq!(notes.len(), 1, "{notes:?}");
    assert_eq!(notes[0].code, HealthCode::NonFinite);
    assert_eq!(notes[0].value, Some(3.0));
    assert!((notes[0].at_s.unwrap() - 1_000.0 / 48_000.0).abs() < 1e-12);
}

#[test]
fn float_over_full_scale() {
    let loud = clean(1).iter().map(|x| 4.0 * x).collect();
    let note = &notes(&[loud])[0];
    assert_eq!(
        (note.code, note.grade),
        (HealthCode::OverFullScale, HealthGrade::Info)
    );
    assert!((note.value.unwrap() - 6.02).abs() < 0.05);
}

#[test]
fn a_tail_that_is_cut_off() {
    let decay = |seconds: f64| -> Vec<f64> {
        let rate = 1f64 / (seconds * 48_000.0);
        noise(1, FRAMES)
            .iter()
            .enumerate()
            .map(|(n, x)| x * 0.5 * 10f64.powf(-3.0 * n as f64 * rate))
            .collect()
    };
    // 60 dB in 3 s: after 1 s it still sounds at about -31 dBFS.
    let note = &notes(&[decay(3.0)])[0];
    assert_eq!((note.code, note.at_s), (HealthCode::TailCutOff, Some(1.0)));
    assert!((note.value.unwrap() + 30.8).abs() < 1.0, "{note:?}");
    // 60 dB in half a second: gone long before the end.
    assert_eq!(codes(&[decay(0.5)]), []);
}

#[test]
fn the_size_of_pushes_changes_nothing() {
    let left: Vec<f64> = clean(1).iter().map(|x| x.clamp(-0.3, 0.3) + 0.01).collect();
    let right: Vec<f64> = left.iter().map(|x| -x).collect();
    let whole = notes(&[left.clone(), right.clone()]);
    assert!(whole.len() >= 3, "{whole:?}");
    for size in [1, 479, 480, 1_000, 7_777] {
        let mut meter = HealthMeter::new(RATE_HZ, 2);
        for (left, right) in left.chunks(size).zip(right.chunks(size)) {
            meter.push(&[left, right]);
        }
        assert_eq!(meter.finish(), whole, "{size}");
    }
}

#[test]
fn json_is_in_kebab_case() {
    let note = HealthNote::new(HealthCode::DcOffset, HealthGrade::Look, "x").at(0.5);
    assert_eq!(
        serde_json::to_value(&note).unwrap(),
        serde_json::json!({
            "code": "dc-offset", "grade": "look", "text": "x",
            "at_s": 0.5, "value": null, "unit": null
        })
    );
}
