//! The streaming meter of one file's bar map.

use cupel_rhythm::BarLines;

use crate::bar_map::{BarMap, SILENCE};
use crate::low_bars::LowBars;
use crate::slot_feed::SlotFeed;
use crate::slot_spectra::{Laid, SlotSpectra};

/// Frames taken at a time.
const CHUNK: usize = 16_384;
/// A bar counts with this part of the mean at least (-30 dB) in the spread.
const SPREAD_FLOOR: f64 = 1e-3;

/// Streaming bar map meter; opens no files, starts no threads. Needs memory for
/// one sixteenth of audio and for a number a bar and cell.
///
/// The result does not depend on how the stream is cut. What is pushed should
/// begin 60 ms before the first bar line and end with the last: what is missing
/// is silence.
#[derive(Clone, Debug)]
pub struct BarMapMeter {
    spectra: SlotSpectra,
    feeds: Vec<SlotFeed>,
    laid: Vec<Laid>,
    lines: BarLines,
    /// Sums over the bars by row and slot.
    sums: [Vec<f64>; 3],
    /// Mean of left and right by window and row.
    by_window: Vec<f32>,
    low: Vec<f32>,
}

impl BarMapMeter {
    /// A meter for one passage: `sample_rate_hz` > 0, `channels` as in the file
    /// (of more than two the first two are heard), bar lines on the file's
    /// clock; what is pushed starts at `start_s` of that clock.
    pub fn new(sample_rate_hz: f64, channels: usize, lines: &BarLines, start_s: f64) -> Self {
        let spectra = SlotSpectra::new(sample_rate_hz, lines, start_s);
        let heard = channels.clamp(1, 2);
        let cells = spectra.rows.len() * lines.slots();
        Self {
            feeds: vec![spectra.feed(); heard],
            laid: vec![Laid::default(); heard],
            lines: lines.clone(),
            sums: std::array::from_fn(|_| vec![0.0; cells]),
            by_window: Vec::with_capacity(spectra.windows() * spectra.rows.len()),
            low: Vec::new(),
            spectra,
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale; samples that are not
    /// finite play as silence. Blocks with fewer channels than promised repeat
    /// their last one; a block without channels is nothing.
    pub fn push(&mut self, block: &[&[f64]]) {
        let Some(last) = block.len().checked_sub(1) else {
            return;
        };
        let frames = block.iter().take(2).map(|side| side.len()).min();
        let frames = frames.unwrap_or(0);
        let mut from = 0;
        while from < frames && self.spectra.next < self.spectra.windows() {
            let to = (from + CHUNK).min(frames);
            for (channel, feed) in self.feeds.iter_mut().enumerate() {
                feed.push(&block[channel.min(last)][from..to]);
            }
            from = to;
            while self.feeds.iter().all(|feed| self.spectra.ready(feed)) {
                self.window();
            }
            for feed in &mut self.feeds {
                self.spectra.drop_used(feed);
            }
        }
    }

    /// The map of everything that was pushed.
    pub fn finish(self) -> BarMap {
        self.finish_with_low().0
    }

    /// The map, and its low end bar by bar for [`LowReading`](crate::LowReading).
    pub fn finish_with_low(mut self) -> (BarMap, LowBars) {
        self.feeds.iter_mut().for_each(SlotFeed::finish);
        while self.spectra.next < self.spectra.windows() {
            self.window();
        }
        let (slots, bars) = (self.lines.slots(), self.lines.bars());
        let mean = |sums: &[f64]| -> Vec<f32> {
            let power = |sum: &f64| (sum / bars.max(1) as f64) as f32;
            sums.iter().map(power).collect()
        };
        let map = BarMap {
            slots,
            bars,
            left: mean(&self.sums[0]),
            right: mean(&self.sums[1]),
            mid: mean(&self.sums[2]),
            spread_db: self.spread(),
            rows: self.spectra.rows,
        };
        (map, LowBars::new(self.lines, self.low))
    }

    /// Takes in the next window.
    fn window(&mut self) {
        for (feed, laid) in self.feeds.iter().zip(&mut self.laid) {
            self.spectra.lay(feed, laid);
        }
        let left = &self.laid[0];
        let right = self.laid.get(1).unwrap_or(left);
        let slots = self.lines.slots();
        let slot = self.spectra.next % slots;
        for row in 0..self.spectra.rows.len() {
            let product = |one, other| self.spectra.product(row, one, other);
            let ll = product(left, left);
            let (rr, lr) = if self.laid.len() > 1 {
                (product(right, right), product(left, right))
            } else {
                (ll, ll)
            };
            let mid = (0.25 * (ll + rr + 2.0 * lr)).max(0.0);
            for (sums, power) in self.sums.iter_mut().zip([ll, rr, mid]) {
                sums[row * slots + slot] += f64::from(power);
            }
            self.by_window.push(0.5 * (ll + rr));
        }
        let low_left = self.spectra.low_products(left, left);
        let low_right = self.spectra.low_products(right, right);
        self.low
            .extend(low_left.zip(low_right).map(|(l, r)| 0.5 * (l + r)));
        self.spectra.next += 1;
    }

    /// Spread over the bars by row and slot.
    fn spread(&self) -> Vec<Option<f32>> {
        let (slots, bars) = (self.lines.slots(), self.lines.bars());
        let rows = self.spectra.rows.len();
        let mut spread = Vec::with_capacity(rows * slots);
        for cell in 0..rows * slots {
            let (row, slot) = (cell / slots, cell % slots);
            let power = |bar: usize| f64::from(self.by_window[(bar * slots + slot) * rows + row]);
            let mean = (0..bars).map(power).sum::<f64>() / bars.max(1) as f64;
            if mean <= SILENCE {
                spread.push(None);
                continue;
            }
            let level = |bar: usize| 10.0 * (power(bar) / mean).max(SPREAD_FLOOR).log10();
            let middle = (0..bars).map(level).sum::<f64>() / bars as f64;
            let square = (0..bars)
                .map(|bar| (level(bar) - middle).powi(2))
                .sum::<f64>();
            spread.push(Some((square / bars as f64).sqrt() as f32));
        }
        spread
    }
}
