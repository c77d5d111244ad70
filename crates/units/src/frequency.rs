//! Frequencies and the notes of equal temperament.

use serde::{Deserialize, Serialize};

/// A frequency in hertz.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Hertz(pub f64);

const NAMES: [&str; 12] = [
    "C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B",
];

/// The nearest note, as `A1`, and how far above it the frequency lies, in cents.
///
/// Equal temperament on A4 = 440 Hz (ISO 16); C4 is the 60th note. `None` where
/// the frequency is not above zero.
pub fn hertz_to_note(frequency_hz: f64) -> Option<(String, f64)> {
    if frequency_hz.is_nan() || frequency_hz <= 0.0 || frequency_hz.is_infinite() {
        return None;
    }
    let number = 69.0 + 12.0 * (frequency_hz / 440.0).log2();
    let nearest = number.round();
    let index = nearest as i64;
    let name = NAMES[index.rem_euclid(12) as usize];
    let octave = index.div_euclid(12) - 1;
    Some((format!("{name}{octave}"), 100.0 * (number - nearest)))
}

/// Frequency of note `number` (A4 = 69) in hertz, equal temperament, ISO 16.
pub fn note_to_hertz(number: f64) -> f64 {
    440.0 * ((number - 69.0) / 12.0).exp2()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Table of equal temperament, A4 = 440 Hz (ISO 16).
    #[test]
    fn table_of_notes() {
        for (hertz, name) in [
            (27.5, "A0"),
            (32.703, "C1"),
            (61.735, "B1"),
            (4186.009, "C8"),
        ] {
            let (note, cents) = hertz_to_note(hertz).unwrap();
            assert_eq!(note, name);
            assert!(cents.abs() < 0.1, "{name}: {cents}");
        }
        assert!((note_to_hertz(60.0) - 261.6256).abs() < 1e-4);
        assert_eq!(hertz_to_note(0.0), None);
    }
}
