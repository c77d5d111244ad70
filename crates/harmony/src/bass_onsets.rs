//! Where bass notes start and end, by the level of the lows.

use crate::harmony_frames::HarmonyFrames;
use crate::low_frames::levels_db;

/// Rise that starts a note.
const RISE_DB: f32 = 6.0;
/// The rise is looked for from this many hops before to this many after.
const BEFORE: usize = 6;
const AFTER: usize = 5;
/// Levels lower than this below the loudest are silence.
const DEPTH_DB: f32 = 30.0;
/// A note has ended this far below its peak.
const ENDED_DB: f32 = 16.0;

/// The level of the lows over time.
pub(crate) struct Lows {
    hop_s: f64,
    first_s: f64,
    db: Vec<f32>,
    click_db: Vec<f32>,
    /// Level that is exceeded in a twentieth of the time.
    top_db: f32,
}

impl Lows {
    pub(crate) fn of(frames: &HarmonyFrames) -> Self {
        let db = levels_db(&frames.low.low);
        let mut sorted = db.clone();
        sorted.sort_by(f32::total_cmp);
        Self {
            hop_s: frames.low.hop_s,
            first_s: frames.low.first_s,
            top_db: sorted
                .get(sorted.len() * 19 / 20)
                .copied()
                .unwrap_or(-120.0),
            click_db: levels_db(&frames.low.click),
            db,
        }
    }

    fn time_s(&self, hop: usize) -> f64 {
        self.first_s + self.hop_s * hop as f64
    }

    fn hop(&self, time_s: f64) -> usize {
        let hop = ((time_s - self.first_s) / self.hop_s).round().max(0.0);
        (hop as usize).min(self.db.len())
    }

    /// Where the level rises, in order.
    pub(crate) fn onsets_s(&self) -> Vec<f64> {
        let mut onsets = Vec::new();
        let mut hop = 0;
        while hop < self.db.len() {
            let first = hop;
            while hop < self.db.len() && self.rises(hop) {
                hop += 1;
            }
            if hop > first {
                onsets.push(self.time_s(self.steepest(first, hop)) - 0.5 * self.hop_s);
            }
            hop += 1;
        }
        onsets
    }

    fn rises(&self, hop: usize) -> bool {
        let before = self.db[hop.saturating_sub(BEFORE)..=hop].iter();
        let lowest = before.copied().fold(f32::MAX, f32::min);
        let after = self.db[hop..(hop + AFTER + 1).min(self.db.len())].iter();
        let highest = after.copied().fold(f32::MIN, f32::max);
        highest > self.top_db - DEPTH_DB + 8.0
            && highest - lowest.max(self.top_db - DEPTH_DB) > RISE_DB
    }

    fn steepest(&self, from: usize, to: usize) -> usize {
        let step = |hop: &usize| self.db[*hop] - self.db[hop - 1];
        let hops = from.max(1)..(to + 2).min(self.db.len());
        hops.max_by(|a, b| step(a).total_cmp(&step(b)))
            .unwrap_or(from)
    }

    /// Where a note from `start_s` ends, at `next_s` or before, and its peak.
    pub(crate) fn end(&self, start_s: f64, next_s: f64) -> (f64, f32) {
        let (from, to) = (self.hop(start_s), self.hop(next_s));
        let levels = self.db.get(from..to).unwrap_or_default();
        let peak = levels.iter().copied().fold(f32::MIN, f32::max);
        let last = levels.iter().rposition(|&db| db > peak - ENDED_DB);
        let end_s = last.map_or(start_s, |last| self.time_s(from + last + 1));
        (end_s.min(next_s), peak)
    }

    /// How loud a peak is against the loudest.
    pub(crate) fn below_top_db(&self, peak_db: f32) -> f32 {
        self.top_db - peak_db
    }

    /// How much the highs rise at `start_s`.
    pub(crate) fn click_rise_db(&self, start_s: f64) -> f32 {
        let hop = self.hop(start_s);
        let mean = |from: usize, to: usize| {
            let to = to.min(self.click_db.len());
            let slice = &self.click_db[from.min(to)..to];
            slice.iter().sum::<f32>() / slice.len().max(1) as f32
        };
        let after = self.click_db
            [hop.saturating_sub(3).min(self.click_db.len())..(hop + 3).min(self.click_db.len())]
            .iter();
        after.copied().fold(-120.0, f32::max)
            - mean(hop.saturating_sub(10), hop.saturating_sub(4)).max(-100.0)
    }
}
