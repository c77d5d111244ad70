//! Bass notes. Notes are counted as found within 50 ms and half a semitone, the
//! note rule of `mir_eval` without offsets.

use cupel_harmony::{Note, bass_notes};

use crate::synth::{Noise, RATE_HZ, add_burst, add_kick, add_note, hear};

/// Start, length, MIDI note.
type Score = [(f64, f64, i32)];

const LINE: [(f64, f64, i32); 12] = [
    (0.0, 0.22, 28),
    (0.25, 0.11, 28),
    (0.375, 0.11, 40),
    (0.5, 0.45, 33),
    (1.0, 0.22, 35),
    (1.25, 0.22, 31),
    (1.5, 0.11, 31),
    (1.625, 0.11, 31),
    (1.75, 0.22, 43),
    (2.0, 0.9, 36),
    (3.0, 0.22, 45),
    (3.25, 0.7, 38),
];

fn found(score: &Score, notes: &[Note]) -> usize {
    let hit = |&&(start_s, _, midi): &&(f64, f64, i32)| {
        notes
            .iter()
            .any(|note| (note.start_s - start_s).abs() < 0.05 && note.midi == midi)
    };
    score.iter().filter(hit).count()
}

#[test]
fn a_bass_line_with_repeated_notes() {
    let mut signal = vec![0.0; 5 * RATE_HZ as usize];
    for (start_s, length_s, midi) in LINE {
        // 20 cents high, as the piece is tuned
        add_note(
            &mut signal,
            start_s + 0.1,
            start_s + 0.1 + length_s,
            f64::from(midi) + 0.2,
            0.5,
        );
    }
    let shifted: Vec<_> = LINE.iter().map(|&(s, l, m)| (s + 0.1, l, m)).collect();
    let notes = bass_notes(&hear(&signal, &signal, 4096).0, 20.0);
    assert_eq!(notes.len(), LINE.len(), "{notes:#?}");
    assert_eq!(found(&shifted, &notes), LINE.len(), "{notes:#?}");
    for (note, &(start_s, length_s, _)) in notes.iter().zip(&shifted) {
        assert!((note.end_s - start_s - length_s).abs() < 0.06, "{note:?}");
        assert!(note.cents_off.abs() < 25.0, "{note:?}");
    }
    // ISO 16 and MIDI: A1 is 33
    assert_eq!(notes[3].name, "A1");
}

#[test]
fn a_kick_is_no_bass_note() {
    let mut signal = vec![0.0; 8 * RATE_HZ as usize];
    let mut noise = Noise(5);
    for beat in 0..16 {
        let at_s = 0.5 * f64::from(beat);
        add_kick(&mut signal, at_s, (210.0, 49.0), 0.025);
        add_burst(&mut signal, at_s, 0.004, 0.4, &mut noise);
    }
    let kicks = bass_notes(&hear(&signal, &signal, 4096).0, 0.0);
    assert!(kicks.len() <= 2, "{kicks:#?}");
    let mut score = Vec::new();
    for beat in 0..16 {
        let start_s = 0.25 + 0.5 * f64::from(beat);
        let midi = [33, 36, 31, 40][beat as usize % 4];
        add_note(&mut signal, start_s, start_s + 0.2, f64::from(midi), 0.4);
        score.push((start_s, 0.2, midi));
    }
    let notes = bass_notes(&hear(&signal, &signal, 4096).0, 0.0);
    assert!(found(&score, &notes) >= 14, "{notes:#?}");
    assert!(notes.len() <= 20, "{notes:#?}");
}
