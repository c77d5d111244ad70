//! Keys and how they are written.

use serde::{Deserialize, Serialize};

/// Major or minor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[allow(missing_docs)] // the names say it
pub enum Mode {
    Major,
    Minor,
}

/// A key; enharmonics are equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Key {
    /// Pitch class of the tonic: 0 is C, 11 is B.
    pub tonic: u8,
    /// Major or minor.
    pub mode: Mode,
}

/// A word that names no key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyError {
    /// What was given.
    pub given: String,
}

impl std::fmt::Display for KeyError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            out,
            "`{}` is no key, write it like `D minor` or `Eb major`",
            self.given
        )
    }
}

impl std::error::Error for KeyError {}

/// Pitch classes with sharps.
pub(crate) const SHARPS: [&str; 12] = [
    "C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B",
];
const FLATS: [&str; 12] = [
    "C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B",
];

impl Key {
    /// All 24 keys, majors first.
    pub fn all() -> impl Iterator<Item = Self> {
        [Mode::Major, Mode::Minor]
            .into_iter()
            .flat_map(|mode| (0..12).map(move |tonic| Self { tonic, mode }))
    }

    /// The smallest transposition of this tonic to the other's, -6 to 6 semitones;
    /// half an octave is 6 upwards.
    pub fn semitones_to(self, other: Self) -> i32 {
        let up = (i32::from(other.tonic) - i32::from(self.tonic)).rem_euclid(12);
        if up > 6 { up - 12 } else { up }
    }

    /// Pitch class of the major key with the same notes; its own where it is major.
    pub(crate) fn signature(self) -> u8 {
        match self.mode {
            Mode::Major => self.tonic % 12,
            Mode::Minor => (self.tonic + 3) % 12,
        }
    }

    /// Name of a pitch class as the key writes it, with flats in keys with flats:
    /// F, Bb, Eb, Ab, Db major and their relatives, and Eb minor.
    pub fn name_of(self, pitch_class: u8) -> &'static str {
        let names = match (self.signature(), self.mode) {
            (5 | 10 | 3 | 8 | 1, _) | (6, Mode::Minor) => FLATS,
            _ => SHARPS,
        };
        names[usize::from(pitch_class % 12)]
    }

    /// Name of a MIDI note as the key writes it, C4 = 60.
    pub fn note_name(self, midi: i32) -> String {
        let name = self.name_of(midi.rem_euclid(12) as u8);
        format!("{name}{}", midi.div_euclid(12) - 1)
    }
}

impl Mode {
    /// `major` or `minor`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
        }
    }
}

impl std::fmt::Display for Key {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{} {}", self.name_of(self.tonic), self.mode.name())
    }
}

impl std::str::FromStr for Key {
    type Err = KeyError;

    /// Reads `D minor`, `Eb major`, `F# min`, `Am`, `C`, `E-flat minor`, also with
    /// the signs for sharp and flat.
    fn from_str(given: &str) -> Result<Self, KeyError> {
        let error = || KeyError {
            given: given.to_owned(),
        };
        let text = given.trim();
        let mut letters = text.chars();
        let letter = letters.next().ok_or_else(error)?;
        let natural: i32 = match letter.to_ascii_uppercase() {
            'C' => 0,
            'D' => 2,
            'E' => 4,
            'F' => 5,
            'G' => 7,
            'A' => 9,
            'B' => 11,
            _ => return Err(error()),
        };
        let mut rest = letters.as_str().trim_start_matches(['-', ' ']);
        let signs = [
            ("sharp", 1),
            ("flat", -1),
            ("#", 1),
            ("\u{266f}", 1),
            ("b", -1),
            ("\u{266d}", -1),
        ];
        let mut shift = 0;
        for (sign, step) in signs {
            if let Some(after) = rest.strip_prefix(sign) {
                (rest, shift) = (after, step);
                break;
            }
        }
        let word = rest.trim_start_matches(['-', ' ']).trim();
        let mode = match word {
            "m" => Mode::Minor,
            "M" => Mode::Major,
            _ => match word.to_ascii_lowercase().as_str() {
                "" | "maj" | "major" | "dur" => Mode::Major,
                "min" | "minor" | "moll" => Mode::Minor,
                _ => return Err(error()),
            },
        };
        Ok(Self {
            tonic: (natural + shift).rem_euclid(12) as u8,
            mode,
        })
    }
}

/// Name of a MIDI note, sharps, C4 = 60.
pub(crate) fn note_name(midi: i32) -> String {
    let class = midi.rem_euclid(12) as usize;
    format!("{}{}", SHARPS[class], midi.div_euclid(12) - 1)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn words_go_both_ways() {
        for key in Key::all() {
            assert_eq!(key.to_string().parse::<Key>().unwrap(), key, "{key}");
        }
        for (text, tonic, mode) in [
            ("Eb minor", 3, Mode::Minor),
            ("E-flat minor", 3, Mode::Minor),
            ("D# minor", 3, Mode::Minor),
            ("B\u{266d} major", 10, Mode::Major),
            ("bb min", 10, Mode::Minor),
            ("Am", 9, Mode::Minor),
            ("C", 0, Mode::Major),
            ("Cb major", 11, Mode::Major),
        ] {
            assert_eq!(text.parse::<Key>().unwrap(), Key { tonic, mode }, "{text}");
        }
        for text in ["", "H minor", "D mixolydian", "12"] {
            assert!(text.parse::<Key>().is_err(), "{text}");
        }
    }

    #[test]
    fn transposition_is_the_smallest() {
        let key = |text: &str| text.parse::<Key>().unwrap();
        assert_eq!(key("B minor").semitones_to(key("C minor")), 1);
        assert_eq!(key("C minor").semitones_to(key("B major")), -1);
        assert_eq!(key("C minor").semitones_to(key("F# major")), 6);
        assert_eq!(key("F# minor").semitones_to(key("C minor")), 6);
    }

    #[test]
    fn notes_are_counted_from_c4() {
        assert_eq!(note_name(60), "C4");
        assert_eq!(note_name(21), "A0");
        assert_eq!(note_name(70), "A#4");
    }

    /// Signatures as in any table of the circle of fifths: Eb minor has six flats, F#
    /// minor three sharps.
    #[test]
    fn notes_are_spelled_by_the_key() {
        let key = |text: &str| text.parse::<Key>().unwrap();
        assert_eq!(key("C minor").note_name(39), "Eb2");
        assert_eq!(key("Eb minor").note_name(42), "Gb2");
        assert_eq!(key("F# minor").note_name(37), "C#2");
        assert_eq!(key("Bb major").note_name(-2), "Bb-2");
    }
}
