//! Kicks whose pitch is known: `end + (start - end) exp(-t / tau)`.

use cupel_harmony::{KickSound, kick_sound};

use crate::synth::{Noise, RATE_HZ, add_burst, add_kick, add_note, hear};

fn semitones(kick: &KickSound, hz: f64) -> f64 {
    12.0 * (kick.fundamental_hz / hz).log2()
}

#[test]
fn fundamental_of_a_track() {
    for (start_hz, end_hz, tau_s) in [
        (180.0, 43.654, 0.02),
        (320.0, 55.0, 0.012),
        (110.0, 49.0, 0.035),
        (52.0, 52.0, 0.02),
    ] {
        let mut signal = vec![0.0; 6 * RATE_HZ as usize];
        for beat in 0..12 {
            add_kick(
                &mut signal,
                0.1 + 0.47 * f64::from(beat),
                (start_hz, end_hz),
                tau_s,
            );
        }
        let kick = kick_sound(&hear(&signal, &signal, 4096).1, None).unwrap();
        assert!(semitones(&kick, end_hz).abs() < 0.3, "{end_hz}: {kick:?}");
        assert_eq!(kick.hits, 12, "{kick:?}");
        assert!(kick.sure >= 0.9, "{kick:?}");
        // closed form: within a semitone after tau ln(fall / (end (2^(1/12) - 1)))
        let fall = (start_hz - end_hz) / (end_hz * 0.059_463);
        let fall_ms = if fall > 1.0 {
            1000.0 * tau_s * fall.ln()
        } else {
            0.0
        };
        assert!((kick.fall_ms - fall_ms).abs() < 15.0, "{fall_ms}: {kick:?}");
        // the level falls by 20 dB in 40 ms and then 80 ms times ln 10
        assert!((kick.length_ms - 224.0).abs() < 35.0, "{kick:?}");
    }
    let mut signal = vec![0.0; 3 * RATE_HZ as usize];
    add_kick(&mut signal, 0.5, (180.0, 43.654), 0.02);
    let kick = kick_sound(&hear(&signal, &signal, 4096).1, None).unwrap();
    // ISO 16: F1 is 43.654 Hz
    assert_eq!(kick.note, "F1");
}

#[test]
fn a_click_is_told() {
    let with = |click: f64| {
        let mut signal = vec![0.0; 6 * RATE_HZ as usize];
        let mut noise = Noise(9);
        for beat in 0..12 {
            let at_s = 0.1 + 0.47 * f64::from(beat);
            add_kick(&mut signal, at_s, (180.0, 50.0), 0.02);
            add_burst(&mut signal, at_s, 0.005, click, &mut noise);
        }
        kick_sound(&hear(&signal, &signal, 4096).1, None)
            .unwrap()
            .click_db
    };
    let (soft, hard) = (with(0.1), with(0.4));
    // four times the amplitude is 12 dB
    assert!((hard - soft - 12.0).abs() < 2.0, "{soft} {hard}");
}

#[test]
fn in_a_mix_at_its_beats() {
    let mut signal = vec![0.0; 16 * RATE_HZ as usize];
    let beats: Vec<f64> = (0..32).map(|n| 0.5 * f64::from(n)).collect();
    let mut noise = Noise(21);
    for (n, &beat_s) in beats.iter().enumerate() {
        add_kick(&mut signal, beat_s, (200.0, 51.0), 0.02);
        let midi = f64::from([33, 38, 36, 31][n / 4 % 4]);
        add_note(&mut signal, beat_s + 0.25, beat_s + 0.45, midi, 0.4);
        add_note(&mut signal, beat_s, beat_s + 0.48, midi + 36.0, 0.1);
        add_burst(&mut signal, beat_s + 0.25, 0.03, 0.2, &mut noise);
    }
    let heard = hear(&signal, &signal, 4096).1;
    let kick = kick_sound(&heard, Some(&beats)).unwrap();
    assert!(semitones(&kick, 51.0).abs() < 0.5, "{kick:?}");
    let off: Vec<f64> = beats.iter().map(|beat| beat + 0.125).collect();
    assert_eq!(kick_sound(&heard, Some(&off)), None);
}

#[test]
fn an_hour_of_hits_is_kept_small() {
    let mut signal = vec![0.0; 8 * RATE_HZ as usize];
    for n in 0..32 {
        add_kick(&mut signal, 0.25 * f64::from(n), (180.0, 50.0), 0.02);
    }
    let long: Vec<f64> = signal
        .iter()
        .copied()
        .cycle()
        .take(20 * signal.len())
        .collect();
    let heard = hear(&long, &long, 48_000).1;
    assert!(heard.hits() > 600, "{}", heard.hits());
    let kick = kick_sound(&heard, None).unwrap();
    assert!(kick.hits <= 96 && kick.hits > 30, "{kick:?}");
}
