//! Key and tuning. Chords are built from the scales of any primer of harmony:
//! major 0 2 4 5 7 9 11, natural minor 0 2 3 5 7 8 10 semitones.

use cupel_harmony::{HarmonyFrames, Key, KeyFinding, Mode, find_key, pitch_facts, tonalness};

use crate::synth::{Noise, RATE_HZ, add_burst, add_kick, add_note, hear};

const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
const MINOR: [i32; 7] = [0, 2, 3, 5, 7, 8, 10];

/// I IV V I or i iv v i twice, one chord a second, roots in the bass.
fn chords(key: Key, cents: f64) -> Vec<f64> {
    let scale = match key.mode {
        Mode::Major => MAJOR,
        Mode::Minor => MINOR,
    };
    let degree = |n: usize| i32::from(key.tonic) + scale[n % 7];
    let mut signal = vec![0.0; 8 * RATE_HZ as usize];
    for (n, root) in [0, 3, 4, 0, 0, 3, 4, 0].into_iter().enumerate() {
        let (start_s, end_s) = (n as f64, n as f64 + 0.95);
        let tuned = |note: i32| f64::from(note) + 0.01 * cents;
        let bass = 36 + degree(root).rem_euclid(12);
        add_note(&mut signal, start_s, end_s, tuned(bass), 0.2);
        for third in [0, 2, 4] {
            let note = 60 + degree(root + third).rem_euclid(12);
            add_note(&mut signal, start_s, end_s, tuned(note), 0.1);
        }
    }
    signal
}

/// A kick on every beat, noise on every second and between, louder than the music.
fn drums(signal: &mut [f64], gain: f64) {
    let mut noise = Noise(3);
    let mut drums = vec![0.0; signal.len()];
    for beat in 0..16 {
        let at_s = 0.5 * f64::from(beat);
        add_kick(&mut drums, at_s, (190.0, 48.0), 0.02);
        add_burst(&mut drums, at_s + 0.25, 0.03, 0.3, &mut noise);
        if beat % 2 == 1 {
            add_burst(&mut drums, at_s, 0.09, 0.6, &mut noise);
        }
    }
    signal
        .iter_mut()
        .zip(&drums)
        .for_each(|(x, d)| *x += gain * d);
}

fn found(signal: &[f64]) -> KeyFinding {
    find_key(&[&hear(signal, signal, 4096).0])
}

#[test]
fn every_key_and_its_tuning() {
    for (n, key) in Key::all().enumerate() {
        let cents = f64::from(n as i32 % 9 * 10 - 40);
        let finding = found(&chords(key, cents));
        assert_eq!(finding.key, Some(key), "{finding:?}");
        let off = finding.tuning_cents.unwrap() - cents;
        assert!(off.abs() < 3.0, "{key}: {off}");
    }
}

#[test]
fn drums_louder_than_the_music() {
    for text in ["D minor", "A# major", "F# minor", "C major"] {
        let key: Key = text.parse().unwrap();
        let mut signal = chords(key, 17.0);
        drums(&mut signal, 1.5);
        let finding = found(&signal);
        assert_eq!(finding.key, Some(key), "{finding:?}");
        assert!(
            (finding.tuning_cents.unwrap() - 17.0).abs() < 5.0,
            "{finding:?}"
        );
    }
}

#[test]
fn several_tracks_are_read_together() {
    let key: Key = "E minor".parse().unwrap();
    let whole = chords(key, 0.0);
    let tone = |hz: f64| -> Vec<f64> {
        let step = std::f64::consts::TAU * hz / f64::from(RATE_HZ);
        (0..whole.len())
            .map(|n| 0.2 * (step * n as f64).sin())
            .collect()
    };
    // E2 = 82.407 Hz: ISO 16
    let bass = tone(82.407);
    let heard = [hear(&whole, &whole, 4096).0, hear(&bass, &bass, 4096).0];
    let tracks: Vec<&HarmonyFrames> = heard.iter().collect();
    let finding = find_key(&tracks);
    assert_eq!(finding.key, Some(key));
    let scores: f64 = finding.candidates.iter().map(|c| c.score).sum();
    assert!(scores <= 1.0 + 1e-9 && finding.candidates[0].score >= finding.candidates[1].score);
}

#[test]
fn noise_is_not_tonal_and_chords_are() {
    let mut noise = Noise(11);
    let hiss: Vec<f64> = (0..6 * RATE_HZ).map(|_| 0.2 * noise.next()).collect();
    let hiss = hear(&hiss, &hiss, 4096).0;
    let music = chords("G major".parse().unwrap(), 0.0);
    let music = hear(&music, &music, 4096).0;
    assert!(tonalness(&hiss) < 0.45, "{}", tonalness(&hiss));
    assert!(tonalness(&music) > 0.8, "{}", tonalness(&music));
    assert!(find_key(&[&hiss]).sure < 0.9);
    let facts = pitch_facts(&music);
    let lowest = facts.lowest_midi.unwrap();
    assert!((35.0..48.5).contains(&lowest), "{facts:?}");
}
