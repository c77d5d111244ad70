//! How far a reference is from the session's key.

use cupel_harmony::{Key, KeyFinding, Mode};

use crate::SURE;

/// The furthest that a loop is transposed, in semitones.
const MOST_SEMITONES: i32 = 3;

/// A transposition, or why there is none.
#[derive(Debug, Default)]
pub(crate) struct InKey {
    pub semitones: f64,
    pub note: Option<String>,
}

/// The smallest transposition of the reference to the session's key or its relative;
/// none where the notes of a key are not sure or the way is too far. Which of the two
/// relatives a key is does not matter: both have the same notes.
pub(crate) fn in_key(session: &KeyFinding, reference: &KeyFinding) -> InKey {
    let none = |note| InKey {
        semitones: 0.0,
        note: Some(note),
    };
    let sure = |finding: &KeyFinding| finding.key.filter(|_| finding.sure_of_notes() >= SURE);
    match (sure(session), sure(reference)) {
        (None, _) => none("not transposed: the key of the session is not sure".into()),
        (_, None) => none("not transposed: the key of the reference is not sure".into()),
        (Some(to), Some(from)) => match major(from).semitones_to(major(to)) {
            semitones if semitones.abs() > MOST_SEMITONES => none(format!(
                "not transposed: from {from} to {to} are {semitones:+} semitones, at most \
                 {MOST_SEMITONES} sound well"
            )),
            semitones => InKey {
                semitones: f64::from(semitones),
                note: None,
            },
        },
    }
}

/// The major key with the same notes.
fn major(key: Key) -> Key {
    match key.mode {
        Mode::Major => key,
        Mode::Minor => Key {
            tonic: (key.tonic + 3) % 12,
            mode: Mode::Major,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cupel_harmony::KeyCandidate;

    fn finding(key: &str, sure: f64) -> KeyFinding {
        let key = key.parse().ok();
        KeyFinding {
            key,
            tuning_cents: None,
            sure,
            candidates: Vec::new(),
        }
    }

    /// Circle of fifths and relative keys, counted by hand.
    #[test]
    fn smallest_way_between_keys() {
        let way = |from: &str, to: &str| in_key(&finding(to, 0.95), &finding(from, 0.95));
        for (from, to, semitones) in [
            ("E minor", "D minor", -2.0),
            ("F minor", "G minor", 2.0),
            ("D# minor", "C minor", -3.0),
            ("A minor", "C major", 0.0),
            ("B major", "C major", 1.0),
        ] {
            let found = way(from, to);
            assert_eq!(
                (found.semitones, found.note),
                (semitones, None),
                "{from} to {to}"
            );
        }
        let far = way("C major", "F# major");
        assert!(far.semitones == 0.0 && far.note.is_some());
    }

    #[test]
    fn unsure_keys_are_left() {
        let found = in_key(&finding("D minor", 0.5), &finding("E minor", 0.95));
        assert!(found.semitones == 0.0 && found.note.unwrap().contains("session"));
        let found = in_key(&finding("D minor", 0.95), &finding("E minor", 0.5));
        assert!(found.semitones == 0.0 && found.note.unwrap().contains("reference"));
    }

    #[test]
    fn relatives_that_cannot_be_told_apart_are_transposed() {
        // What a belief of 0.5 is worth.
        let mut unsure = finding("F# major", 0.6);
        let candidate = |key: &str, score| KeyCandidate {
            key: key.parse().unwrap(),
            score,
        };
        unsure.candidates = vec![candidate("F# major", 0.5), candidate("Eb minor", 0.48)];
        let found = in_key(&unsure, &finding("F minor", 0.95));
        assert_eq!((found.semitones, found.note), (-2.0, None));
    }
}
