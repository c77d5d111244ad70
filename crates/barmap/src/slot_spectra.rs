//! What both meters share: where windows lie, how they are transformed, and how
//! their spectra fall into rows.

use cupel_rhythm::BarLines;
use realfft::num_complex::Complex32;

use crate::decimator::{Decimator, dot};
use crate::low_bars;
use crate::rows::{Row, rows};
use crate::slot_feed::{Cuts, HIGH_FADE_S, LOW_FADE_S, SlotFeed};
use crate::transform::{RowLayout, Transform};

/// Transforms of one part of the spectrum.
#[derive(Clone, Debug)]
struct Part {
    cuts: Cuts,
    transform: Transform,
    layout: RowLayout,
    window: Vec<f32>,
    spectrum: Vec<Complex32>,
}

impl Part {
    fn new(cuts: Cuts, rate_hz: f64, widest_bin_hz: f64, edges_hz: &[(f64, f64)]) -> Self {
        let least = cuts
            .longest()
            .max((rate_hz / widest_bin_hz).ceil() as usize);
        let transform = Transform::new(least);
        let bins = transform.bins();
        let layout = RowLayout::new(edges_hz, rate_hz / transform.size() as f64, bins);
        Self {
            cuts,
            layout,
            window: vec![0.0; transform.size()],
            spectrum: vec![Complex32::default(); bins],
            transform,
        }
    }

    /// What a sum of squares in a window must be multiplied with for its power.
    fn scale(&self, window: usize) -> f64 {
        2.0 / (self.transform.size() as f64 * self.cuts.length(window))
    }
}

/// The workings of a meter.
#[derive(Clone, Debug)]
pub(crate) struct SlotSpectra {
    pub(crate) rows: Vec<Row>,
    low_rows: usize,
    low: Part,
    high: Part,
    sample_rate_hz: f64,
    /// The window that comes next.
    pub(crate) next: usize,
}

/// One channel's window, laid out row by row.
#[derive(Clone, Debug, Default)]
pub(crate) struct Laid {
    low: Vec<f32>,
    high: Vec<f32>,
}

impl SlotSpectra {
    pub(crate) fn new(sample_rate_hz: f64, lines: &BarLines, start_s: f64) -> Self {
        let rows = rows(sample_rate_hz);
        let (low, high): (Vec<Row>, Vec<Row>) = rows.iter().partition(|row| row.is_low());
        let mut low_edges: Vec<_> = low.iter().map(|row| (row.low_hz, row.high_hz)).collect();
        low_edges.extend(low_bars::edges_above_hz());
        let high_edges: Vec<_> = high.iter().map(|row| (row.low_hz, row.high_hz)).collect();
        let low_rate_hz = sample_rate_hz / Decimator::new(sample_rate_hz).factor() as f64;
        let cuts = |rate_hz, fade_s| Cuts::new(lines, start_s, rate_hz, fade_s);
        Self {
            low_rows: low.len(),
            rows,
            low: Part::new(cuts(low_rate_hz, LOW_FADE_S), low_rate_hz, 0.8, &low_edges),
            high: Part::new(
                cuts(sample_rate_hz, HIGH_FADE_S),
                sample_rate_hz,
                8.0,
                &high_edges,
            ),
            sample_rate_hz,
            next: 0,
        }
    }

    /// A channel for [`Self::lay`].
    pub(crate) fn feed(&self) -> SlotFeed {
        SlotFeed::new(self.sample_rate_hz)
    }

    /// Number of windows.
    pub(crate) fn windows(&self) -> usize {
        self.high.cuts.count()
    }

    /// Whether a channel holds the next window whole.
    pub(crate) fn ready(&self, feed: &SlotFeed) -> bool {
        feed.high.holds(&self.high.cuts, self.next) && feed.low.holds(&self.low.cuts, self.next)
    }

    /// Drops what a channel needs no more.
    pub(crate) fn drop_used(&self, feed: &mut SlotFeed) {
        feed.high.drop_before(&self.high.cuts, self.next);
        feed.low.drop_before(&self.low.cuts, self.next);
    }

    /// Transforms a channel's next window and lays it out.
    pub(crate) fn lay(&mut self, feed: &SlotFeed, laid: &mut Laid) {
        for (part, kept, values) in [
            (&mut self.low, &feed.low, &mut laid.low),
            (&mut self.high, &feed.high, &mut laid.high),
        ] {
            kept.cut(&part.cuts, self.next, &mut part.window);
            part.transform.run(&mut part.window, &mut part.spectrum);
            values.resize(part.layout.len(), 0.0);
            part.layout.lay(&part.spectrum, values);
        }
    }

    /// Power of a row of the next window's product of two channels.
    pub(crate) fn product(&self, row: usize, one: &Laid, other: &Laid) -> f32 {
        if row < self.low_rows {
            low_product(&self.low, row, self.next, one, other)
        } else {
            let row = row - self.low_rows;
            let layout = &self.high.layout;
            let sum = dot(layout.row(&one.high, row), layout.row(&other.high, row));
            (f64::from(sum) * self.high.scale(self.next)) as f32
        }
    }

    /// Power by semitone of the next window's product, as [`low_bars`] has them.
    pub(crate) fn low_products<'a>(
        &'a self,
        one: &'a Laid,
        other: &'a Laid,
    ) -> impl Iterator<Item = f32> {
        (0..low_bars::ROWS).map(|row| self.low_product(row, one, other))
    }

    /// Power of one of those semitones.
    pub(crate) fn low_product(&self, row: usize, one: &Laid, other: &Laid) -> f32 {
        low_product(&self.low, row, self.next, one, other)
    }
}

impl Laid {
    /// Whether nothing sounds.
    pub(crate) fn is_silent(&self) -> bool {
        let silent = |values: &[f32]| values.iter().all(|&x| x == 0.0);
        silent(&self.high) && silent(&self.low)
    }

    /// Half the sum of two channels.
    pub(crate) fn middle(&mut self, left: &Self, right: &Self) {
        for (out, (l, r)) in [
            (&mut self.low, (&left.low, &right.low)),
            (&mut self.high, (&left.high, &right.high)),
        ] {
            out.clear();
            out.extend(l.iter().zip(r).map(|(l, r)| 0.5 * (l + r)));
        }
    }
}

fn low_product(part: &Part, row: usize, window: usize, one: &Laid, other: &Laid) -> f32 {
    let sum = dot(
        part.layout.row(&one.low, row),
        part.layout.row(&other.low, row),
    );
    (f64::from(sum) * part.scale(window)) as f32
}
