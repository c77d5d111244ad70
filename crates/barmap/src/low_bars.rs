//! The low end bar by bar, in semitones up to 508 Hz: input of the low reading.

use cupel_rhythm::BarLines;
use serde::{Deserialize, Serialize};

use crate::rows::note_hz;

/// Highest semitone, B4 (493.9 Hz); the lowest are those of the bar map.
const HIGHEST: i32 = 71;
const LOWEST: i32 = 21;
/// Semitones that the bar map has not.
const ABOVE: std::ops::RangeInclusive<i32> = 51..=HIGHEST;
/// One row below A0, then the semitones.
pub(crate) const ROWS: usize = (HIGHEST - LOWEST + 2) as usize;
/// Lower edge of the lowest row.
const BOTTOM_HZ: f64 = 8.0;

/// Edges of the rows that follow the bar map's low rows.
pub(crate) fn edges_above_hz() -> impl Iterator<Item = (f64, f64)> {
    ABOVE.map(|midi| {
        (
            note_hz(f64::from(midi) - 0.5),
            note_hz(f64::from(midi) + 0.5),
        )
    })
}

/// Mean power of left and right by bar, sixteenth and semitone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowBars {
    pub(crate) lines: BarLines,
    powers: Vec<f32>,
}

impl LowBars {
    pub(crate) fn new(lines: BarLines, powers: Vec<f32>) -> Self {
        Self { lines, powers }
    }

    /// The bars it was read in.
    pub fn lines(&self) -> &BarLines {
        &self.lines
    }

    /// Power between two frequencies in a sixteenth, counted from the first of
    /// the first bar; rows that the edges cut count in part. 8 Hz to 508 Hz.
    pub fn between(&self, sixteenth: usize, low_hz: f64, high_hz: f64) -> f64 {
        let start = sixteenth * ROWS;
        let Some(rows) = self.powers.get(start..start + ROWS) else {
            return 0.0;
        };
        row_parts(low_hz, high_hz)
            .map(|(row, part)| part * f64::from(rows[row]))
            .sum()
    }

    /// Highest frequency it knows.
    pub fn top_hz() -> f64 {
        note_hz(f64::from(HIGHEST) + 0.5)
    }
}

/// Rows between two frequencies, with the part of each that lies there.
pub(crate) fn row_parts(low_hz: f64, high_hz: f64) -> impl Iterator<Item = (usize, f64)> {
    let (low, high) = (place(low_hz), place(high_hz));
    (0..ROWS).filter_map(move |row| {
        let part = high.min(row as f64 + 1.0) - low.max(row as f64);
        (part > 0.0).then_some((row, part))
    })
}

/// Place on the scale of rows: row n reaches from n to n + 1.
fn place(hertz: f64) -> f64 {
    let below = note_hz(f64::from(LOWEST) - 0.5);
    if hertz >= below {
        1.0 + 12.0 * (hertz / below).log2()
    } else {
        ((hertz.max(BOTTOM_HZ) / BOTTOM_HZ).ln() / (below / BOTTOM_HZ).ln()).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_are_made_of_whole_and_part_rows() {
        let lines = BarLines {
            bar_starts_s: vec![0.0, 2.0],
            beats_per_bar: 4,
            swing: 0.5,
        };
        let low = LowBars::new(lines, vec![1.0; 16 * ROWS]);
        let edge = |midi: f64| note_hz(midi);
        assert!((low.between(3, edge(40.5), edge(43.5)) - 3.0).abs() < 1e-9);
        assert!((low.between(3, edge(40.0), edge(40.25)) - 0.25).abs() < 1e-9);
        assert!((low.between(0, 1.0, 1e4) - ROWS as f64).abs() < 1e-9);
        assert_eq!(low.between(16, 20.0, 100.0), 0.0);
        assert!((LowBars::top_hz() - 508.36).abs() < 0.01); // half a semitone over B4
    }
}
