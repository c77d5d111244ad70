//! The rows of a bar map.
//!
//! Semitones: equal temperament, A4 = 440 Hz (ISO 16). Third octaves: IEC
//! 61260-1:2014, base ten, equations 1, 2 and 5; nominal frequencies from its
//! Annex E.

use serde::{Deserialize, Serialize};

/// Lowest and highest semitone: A0 (27.5 Hz) and D3 (146.8 Hz).
const SEMITONES: std::ops::RangeInclusive<i32> = 21..=50;
/// What lies below is no music, but it is energy.
const LOWEST_HZ: f64 = 8.0;

/// Third octaves from 160 Hz.
const NOMINAL_HZ: [f64; 22] = [
    160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0,
    3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10000.0, 12500.0, 16000.0, 20000.0,
];
/// Index of the first of them from the band at 1 kHz.
const FIRST_INDEX: i32 = -8;

/// A row of a bar map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Note of a semitone, nominal middle of a third octave.
    pub centre_hz: f64,
    /// Lower edge.
    pub low_hz: f64,
    /// Upper edge.
    pub high_hz: f64,
    /// MIDI number of a semitone (A4 = 69), `None` elsewhere.
    pub midi: Option<i32>,
}

impl Row {
    /// Whether the row lies below the third octaves.
    pub fn is_low(&self) -> bool {
        self.high_hz < note_hz(f64::from(*SEMITONES.end()) + 1.0)
    }
}

/// Frequency of a MIDI number.
pub(crate) fn note_hz(midi: f64) -> f64 {
    440.0 * 2f64.powf((midi - 69.0) / 12.0)
}

/// The rows that fit under half the sample rate, rising without gaps: one below
/// A0, the semitones, and the third octaves; the lowest third octave starts
/// where the semitones end and the highest ends at half the rate.
pub(crate) fn rows(sample_rate_hz: f64) -> Vec<Row> {
    let nyquist_hz = 0.5 * sample_rate_hz;
    let below_hz = note_hz(f64::from(*SEMITONES.start()) - 0.5);
    let mut rows = vec![Row {
        centre_hz: 20.0,
        low_hz: LOWEST_HZ,
        high_hz: below_hz,
        midi: None,
    }];
    rows.extend(SEMITONES.map(|midi| Row {
        centre_hz: note_hz(f64::from(midi)),
        low_hz: note_hz(f64::from(midi) - 0.5),
        high_hz: note_hz(f64::from(midi) + 0.5),
        midi: Some(midi),
    }));
    let semitones_end_hz = note_hz(f64::from(*SEMITONES.end()) + 0.5);
    let edge_hz = |half_steps: i32| 1000.0 * 10f64.powf(f64::from(half_steps) / 20.0);
    rows.extend(NOMINAL_HZ.iter().enumerate().map(|(place, &centre_hz)| {
        let index = FIRST_INDEX + place as i32;
        Row {
            centre_hz,
            low_hz: edge_hz(2 * index - 1).max(semitones_end_hz),
            high_hz: edge_hz(2 * index + 1).min(nyquist_hz),
            midi: None,
        }
    }));
    rows.retain(|row| row.low_hz < 0.98 * nyquist_hz);
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_follow_without_gaps() {
        for rate_hz in [44_100.0, 48_000.0, 96_000.0, 22_050.0] {
            let rows = rows(rate_hz);
            for pair in rows.windows(2) {
                assert!((pair[0].high_hz - pair[1].low_hz).abs() < 1e-9, "{pair:?}");
            }
        }
        assert_eq!(rows(48_000.0).len(), 53);
        assert_eq!(rows(44_100.0).len(), 53);
    }

    #[test]
    fn frequencies_are_those_of_the_standards() {
        let rows = rows(48_000.0);
        let a1 = rows.iter().find(|row| row.midi == Some(33)).unwrap();
        assert!((a1.centre_hz - 55.0).abs() < 1e-9); // ISO 16
        let kilo = rows.iter().find(|row| row.centre_hz == 1000.0).unwrap();
        // IEC 61260-1, edges of the 1 kHz third octave: 891.25 Hz and 1122.0 Hz.
        assert!((kilo.low_hz - 891.25).abs() < 0.01 && (kilo.high_hz - 1122.02).abs() < 0.01);
        let first = rows.iter().find(|row| row.centre_hz == 160.0).unwrap();
        assert!((first.low_hz - 151.13).abs() < 0.01 && (first.high_hz - 177.83).abs() < 0.01);
        assert!(!first.is_low() && a1.is_low());
    }
}
