//! Bar lines of a passage and the sixteenths between them.

use crate::grid::Grid;
use serde::{Deserialize, Serialize};

/// Sixteenths in a beat.
const IN_BEAT: usize = 4;

/// The bars of a passage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarLines {
    /// Bar lines in seconds, rising, one more than there are bars.
    pub bar_starts_s: Vec<f64>,
    /// 4 or 3.
    pub beats_per_bar: u32,
    /// Place of the second sixteenth in its pair, 0.5 straight.
    pub swing: f64,
}

impl BarLines {
    /// Bars.
    pub fn bars(&self) -> usize {
        self.bar_starts_s.len().saturating_sub(1)
    }

    /// Sixteenths in a bar.
    pub fn slots(&self) -> usize {
        self.beats_per_bar as usize * IN_BEAT
    }

    /// Where every sixteenth starts, bar after bar, with swing; the last value is
    /// the end of the last bar. `bars() * slots() + 1` values, none without bars.
    pub fn slot_starts_s(&self) -> Vec<f64> {
        let slots = self.slots();
        let mut starts = Vec::with_capacity(self.bars() * slots + 1);
        for bar in self.bar_starts_s.windows(2) {
            let pair_s = (bar[1] - bar[0]) / (slots / 2).max(1) as f64;
            for slot in 0..slots {
                let within = if slot % 2 == 1 { self.swing } else { 0.0 };
                starts.push(bar[0] + ((slot / 2) as f64 + within) * pair_s);
            }
        }
        if let (false, Some(&end)) = (starts.is_empty(), self.bar_starts_s.last()) {
            starts.push(end);
        }
        starts
    }
}

impl Grid {
    /// The whole bars between two times, to 20 ms; `None` where there are none or
    /// the bar line is not known.
    pub fn bar_lines(&self, start_s: f64, end_s: f64) -> Option<BarLines> {
        const SLACK_S: f64 = 0.02;
        let all = self.bars_s(end_s + SLACK_S);
        let bar_starts_s: Vec<f64> = all
            .into_iter()
            .filter(|&bar| bar >= start_s - SLACK_S)
            .collect();
        (bar_starts_s.len() >= 2).then_some(BarLines {
            bar_starts_s,
            beats_per_bar: self.beats_per_bar?,
            swing: self.swing.unwrap_or(0.5),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteenths_swing_within_their_pair() {
        let lines = BarLines {
            bar_starts_s: vec![1.0, 3.0, 5.0],
            beats_per_bar: 4,
            swing: 0.6,
        };
        let slots = lines.slot_starts_s();
        assert_eq!((lines.bars(), lines.slots(), slots.len()), (2, 16, 33));
        assert!((slots[1] - 1.15).abs() < 1e-12, "{}", slots[1]);
        assert!((slots[2] - 1.25).abs() < 1e-12, "{}", slots[2]);
        assert_eq!((slots[16], slots[32]), (3.0, 5.0));
    }

    #[test]
    fn no_bars_no_slots() {
        let lines = BarLines {
            bar_starts_s: vec![1.0],
            beats_per_bar: 4,
            swing: 0.5,
        };
        assert!(lines.slot_starts_s().is_empty());
    }
}
