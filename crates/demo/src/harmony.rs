//! Scale, chord progression and voicing.

use crate::rng::Rng;
use crate::settings::{Key, Mode};

const MINOR: [i32; 7] = [0, 2, 3, 5, 7, 8, 10];
const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];

/// Four chords as scale degrees, 0 for the tonic: common practice, no source.
const MINOR_TURNS: [[i32; 4]; 7] = [
    [0, 5, 2, 6],
    [0, 3, 5, 4],
    [0, 6, 5, 6],
    [0, 0, 5, 6],
    [0, 2, 6, 3],
    [0, 5, 3, 4],
    [0, 3, 0, 6],
];
const MAJOR_TURNS: [[i32; 4]; 4] = [[0, 4, 5, 3], [0, 5, 3, 4], [0, 3, 5, 4], [0, 2, 3, 4]];

/// One chord of the progression, as note numbers (A4 = 69).
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Chord {
    /// Scale degree of the root.
    pub(crate) degree: i32,
    /// Root between E1 and D#2.
    pub(crate) root: f64,
    /// Close voicing around middle C, three or four notes, rising.
    pub(crate) notes: Vec<f64>,
}

/// Key and progression of a song.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Harmony {
    pub(crate) key: Key,
    pub(crate) chords: Vec<Chord>,
    pub(crate) bars_per_chord: usize,
}

impl Harmony {
    /// Draws a progression.
    pub(crate) fn draw(key: Key, seventh_share: f64, rng: &mut Rng) -> Self {
        let turn = match key.mode {
            Mode::Minor => *rng.pick(&MINOR_TURNS),
            Mode::Major => *rng.pick(&MAJOR_TURNS),
        };
        let seventh = rng.chance(seventh_share);
        let bars_per_chord = if rng.chance(0.6) { 1 } else { 2 };
        let mut harmony = Self {
            key,
            chords: Vec::new(),
            bars_per_chord,
        };
        harmony.chords = turn
            .iter()
            .map(|&degree| harmony.chord(degree, seventh))
            .collect();
        harmony
    }

    /// The chord of a bar; progressions start with their section.
    pub(crate) fn at(&self, bar_in_section: usize) -> &Chord {
        &self.chords[(bar_in_section / self.bars_per_chord) % self.chords.len()]
    }

    /// Note number of a scale degree; degrees go on above and below the octave.
    /// Degree 0 is the tonic between C4 and B4.
    pub(crate) fn degree(&self, degree: i32) -> f64 {
        let scale = match self.key.mode {
            Mode::Minor => MINOR,
            Mode::Major => MAJOR,
        };
        let within = scale[degree.rem_euclid(7) as usize];
        f64::from(60 + i32::from(self.key.tonic) + 12 * degree.div_euclid(7) + within)
    }

    fn chord(&self, degree: i32, seventh: bool) -> Chord {
        let count = if seventh { 4 } else { 3 };
        let mut notes: Vec<f64> = (0..count)
            .map(|third| into_octave(self.degree(degree + 2 * third), 56.0))
            .collect();
        notes.sort_by(f64::total_cmp);
        Chord {
            degree,
            root: into_octave(self.degree(degree), 28.0),
            notes,
        }
    }
}

/// The same pitch class in `lowest..lowest + 12`.
pub(crate) fn into_octave(note: f64, lowest: f64) -> f64 {
    lowest + (note - lowest).rem_euclid(12.0)
}

/// Frequency of a note number: equal temperament on A4 = 440 Hz (ISO 16).
pub(crate) fn note_hz(note: f64) -> f64 {
    440.0 * libm::exp2((note - 69.0) / 12.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chords_stay_in_the_scale() {
        let key = Key {
            tonic: 2,
            mode: Mode::Minor,
        };
        for seed in 0..50 {
            let harmony = Harmony::draw(key, 0.5, &mut Rng::new(seed));
            for chord in &harmony.chords {
                for note in &chord.notes {
                    let class = (*note as i32 - 2).rem_euclid(12);
                    assert!(MINOR.contains(&class), "{class}");
                    assert!((56.0..68.0).contains(note));
                }
            }
        }
    }

    /// ISO 16 and the table of equal temperament: C4 is 261.626 Hz.
    #[test]
    fn middle_c() {
        assert!((note_hz(60.0) - 261.6256).abs() < 1e-4);
    }
}
