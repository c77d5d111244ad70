//! Names of notes.

/// `A1` for MIDI number 33 (scientific pitch notation: A4 = 69, C4 = middle C).
pub(super) fn note_name(midi: i32) -> String {
    const NAMES: [&str; 12] = [
        "C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B",
    ];
    let name = NAMES[midi.rem_euclid(12) as usize];
    format!("{name}{}", midi.div_euclid(12) - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_known_numbers() {
        // MIDI tuning: A4 = 69, C4 = 60; the piano's lowest note is A0 = 21.
        for (midi, name) in [(69, "A4"), (60, "C4"), (21, "A0"), (34, "A#1"), (-1, "B-2")] {
            assert_eq!(note_name(midi), name);
        }
    }
}
