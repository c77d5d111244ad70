//! Where a kick sits against key and bass.

use serde::{Deserialize, Serialize};

use crate::bass_notes::Note;
use crate::key::{Key, Mode};
use crate::kick_sound::KickSound;

/// Where a kick sits against key and bass.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct KickPlace {
    /// Semitones from the nearest tonic up to the kick's note, 0 to 11.
    pub from_tonic: Option<i32>,
    /// Degree of the scale, 1 for the tonic; `None` outside it.
    pub degree: Option<u8>,
    /// Whether the kick's note is outside the key.
    pub out_of_key: Option<bool>,
    /// The note the bass plays most.
    pub bass_note: Option<String>,
    /// Semitones from that note up to the kick, down if negative, with fraction.
    pub from_bass: Option<f64>,
    /// All this in words.
    pub words: String,
}

const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
const MINOR: [i32; 7] = [0, 2, 3, 5, 7, 8, 10];
const INTERVALS: [&str; 12] = [
    "the tonic",
    "a semitone above the tonic",
    "the second",
    "the minor third",
    "the major third",
    "the fourth",
    "the tritone",
    "the fifth",
    "the minor sixth",
    "the major sixth",
    "the minor seventh",
    "a semitone below the tonic",
];

/// Where `kick` sits against `key`, if known, and the notes of the bass.
pub fn kick_against(kick: &KickSound, key: Option<Key>, bass: &[Note]) -> KickPlace {
    let midi = 69.0 + 12.0 * (kick.fundamental_hz / 440.0).log2();
    let note = midi.round() as i32;
    let mut place = KickPlace::default();
    let mut words = Vec::new();
    if let Some(key) = key {
        let from_tonic = (note - i32::from(key.tonic)).rem_euclid(12);
        let scale = match key.mode {
            Mode::Major => MAJOR,
            Mode::Minor => MINOR,
        };
        let degree = scale.iter().position(|&step| step == from_tonic);
        place.from_tonic = Some(from_tonic);
        place.degree = degree.map(|n| n as u8 + 1);
        place.out_of_key = Some(degree.is_none());
        let outside = if degree.is_none() {
            ", outside the key"
        } else {
            ""
        };
        words.push(format!(
            "{} of {key}{outside}",
            INTERVALS[from_tonic as usize]
        ));
    }
    if let Some((most, name)) = most_played(bass) {
        let from_bass = midi - f64::from(most);
        place.from_bass = Some(from_bass);
        words.push(beside_bass(from_bass, &name));
        place.bass_note = Some(name);
    }
    place.words = if words.is_empty() {
        "-".into()
    } else {
        words.join("; ")
    };
    place
}

/// The note that sounds longest.
fn most_played(bass: &[Note]) -> Option<(i32, String)> {
    let mut sums: Vec<(i32, f64, &str)> = Vec::new();
    for note in bass {
        let seconds = note.end_s - note.start_s;
        match sums.iter_mut().find(|sum| sum.0 == note.midi) {
            Some(sum) => sum.1 += seconds,
            None => sums.push((note.midi, seconds, &note.name)),
        }
    }
    let most = sums.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((most.0, most.2.to_owned()))
}

fn beside_bass(semitones: f64, name: &str) -> String {
    let whole = semitones.round() as i32;
    let plural = if whole.abs() == 1 { "" } else { "s" };
    match whole {
        0 => format!("on the bass's {name}"),
        _ if whole > 0 => format!("{whole} semitone{plural} above the bass's {name}"),
        _ => format!("{} semitone{plural} below the bass's {name}", -whole),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kick(hz: f64) -> KickSound {
        KickSound {
            fundamental_hz: hz,
            note: String::new(),
            cents_off: 0.0,
            start_hz: hz,
            fall_ms: 0.0,
            length_ms: 100.0,
            click_db: -20.0,
            hits: 8,
            sure: 1.0,
        }
    }

    fn note(midi: i32, seconds: f64) -> Note {
        Note {
            start_s: 0.0,
            end_s: seconds,
            midi,
            name: crate::key::note_name(midi),
            cents_off: 0.0,
            level_db: -10.0,
            sure: 1.0,
        }
    }

    /// F1 = 43.654 Hz (ISO 16); D minor has F as its minor third.
    #[test]
    fn third_of_the_key_and_below_the_bass() {
        let key = Some(Key {
            tonic: 2,
            mode: Mode::Minor,
        });
        let place = kick_against(&kick(43.654), key, &[note(38, 4.0), note(36, 1.0)]);
        assert_eq!(place.from_tonic, Some(3));
        assert_eq!(place.degree, Some(3));
        assert_eq!(place.out_of_key, Some(false));
        assert_eq!(place.bass_note.as_deref(), Some("D2"));
        assert!((place.from_bass.unwrap_or(0.0) + 9.0).abs() < 0.01);
        assert_eq!(
            place.words,
            "the minor third of D minor; 9 semitones below the bass's D2"
        );
    }

    #[test]
    fn outside_the_key_and_nothing_known() {
        let key = Some(Key {
            tonic: 0,
            mode: Mode::Major,
        });
        let place = kick_against(&kick(46.249), key, &[]);
        assert_eq!((place.degree, place.out_of_key), (None, Some(true)));
        assert_eq!(kick_against(&kick(46.249), None, &[]).words, "-");
    }
}
