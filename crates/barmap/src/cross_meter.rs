//! The streaming meter of several tracks heard together.

use cupel_rhythm::BarLines;

use crate::cross_low::CrossLow;
use crate::cross_map::{CrossMap, pairs};
use crate::low_bars::row_parts;
use crate::low_guide::{LowGuide, Spot};
use crate::rows::Row;
use crate::slot_feed::SlotFeed;
use crate::slot_spectra::{Laid, SlotSpectra};

/// Frames taken at a time.
const CHUNK: usize = 16_384;

/// One track on its way.
#[derive(Clone, Debug)]
struct Track {
    feeds: Vec<SlotFeed>,
    /// Left, right and mid of the window; left alone for mono.
    laid: Vec<Laid>,
    sounds: bool,
}

impl Track {
    fn side(&self, side: usize) -> &Laid {
        self.laid.get(side).unwrap_or(&self.laid[0])
    }

    fn is_mono(&self) -> bool {
        self.laid.len() == 1
    }
}

/// Streaming meter of cross-powers; opens no files, starts no threads.
///
/// The result does not depend on how the stream is cut. As for
/// [`BarMapMeter`](crate::BarMapMeter), begin 60 ms before the first bar line.
#[derive(Clone, Debug)]
pub struct CrossMeter {
    spectra: SlotSpectra,
    tracks: Vec<Track>,
    /// Slots and bars.
    counts: (usize, usize),
    /// Sums over the bars by side and cell, upper triangles.
    sums: [Vec<f32>; 3],
    /// Weight of every row in the sums of whole bars, and those sums: by bar, left and
    /// right, upper triangles.
    bar_sums: Option<(Vec<f32>, Vec<f32>)>,
    /// What is read of the low places in every window, and its sums.
    low: Option<(Vec<Vec<Spot>>, CrossLow)>,
}

impl CrossMeter {
    /// A meter for tracks at one rate on one clock; `channels` has the number of
    /// channels of every track (1, or 2 of more).
    pub fn new(sample_rate_hz: f64, channels: &[usize], lines: &BarLines, start_s: f64) -> Self {
        let spectra = SlotSpectra::new(sample_rate_hz, lines, start_s);
        let values = spectra.rows.len() * lines.slots() * pairs(channels.len());
        let track = |&channels: &usize| {
            let heard = channels.clamp(1, 2);
            Track {
                feeds: vec![spectra.feed(); heard],
                laid: vec![Laid::default(); if heard == 2 { 3 } else { 1 }],
                sounds: false,
            }
        };
        Self {
            tracks: channels.iter().map(track).collect(),
            counts: (lines.slots(), lines.bars()),
            sums: std::array::from_fn(|_| vec![0.0; values]),
            bar_sums: None,
            low: None,
            spectra,
        }
    }

    /// Also sums left and right bar by bar, every row times a weight; `weights` is
    /// told the rows.
    #[must_use]
    pub fn with_bars(mut self, weights: impl Fn(&[Row]) -> Vec<f64>) -> Self {
        let weights = weights(&self.spectra.rows);
        let values = 2 * self.counts.1 * pairs(self.tracks.len());
        let weights = weights.into_iter().map(|weight| weight as f32).collect();
        self.bar_sums = Some((weights, vec![0.0; values]));
        self
    }

    /// Also reads the low places around the notes and kicks of a guide (those of
    /// the whole mix); `lines` as given to [`Self::new`].
    #[must_use]
    pub fn with_guide(mut self, guide: &LowGuide, lines: &BarLines) -> Self {
        let starts_s = lines.slot_starts_s();
        let spots = starts_s
            .windows(2)
            .map(|pair| guide.spots((pair[0], pair[1])));
        let low = CrossLow::new(self.tracks.len(), self.counts.0);
        self.low = Some((spots.collect(), low));
        self
    }

    /// Adds a block: for every track its channels, all of one length. Missing
    /// tracks are silent, missing channels repeat the last.
    pub fn push(&mut self, block: &[&[&[f64]]]) {
        let lengths = block
            .iter()
            .flat_map(|track| track.iter().map(|side| side.len()));
        let frames = lengths.min().unwrap_or(0);
        let silence = vec![0.0; frames.min(CHUNK)];
        let mut from = 0;
        while from < frames && self.spectra.next < self.spectra.windows() {
            let to = (from + CHUNK).min(frames);
            for (index, track) in self.tracks.iter_mut().enumerate() {
                let sides = block.get(index).copied().unwrap_or(&[]);
                for (channel, feed) in track.feeds.iter_mut().enumerate() {
                    let side = sides.get(channel).or(sides.last());
                    feed.push(side.map_or(&silence[..to - from], |side| &side[from..to]));
                }
            }
            from = to;
            while self.is_ready() {
                self.window();
            }
            for feed in self.tracks.iter_mut().flat_map(|track| &mut track.feeds) {
                self.spectra.drop_used(feed);
            }
        }
    }

    /// The cross-powers of everything that was pushed.
    pub fn finish(mut self) -> CrossMap {
        let feeds = self.tracks.iter_mut().flat_map(|track| &mut track.feeds);
        feeds.for_each(SlotFeed::finish);
        while !self.tracks.is_empty() && self.spectra.next < self.spectra.windows() {
            self.window();
        }
        let scale = 1.0 / self.counts.1.max(1) as f32;
        for sums in &mut self.sums {
            sums.iter_mut().for_each(|sum| *sum *= scale);
        }
        let low = self.low.map(|(_, mut low)| {
            low.finish();
            low
        });
        let by_bar = self.bar_sums.map(|(_, sums)| sums);
        CrossMap::new(
            self.tracks.len(),
            self.counts,
            self.spectra.rows,
            self.sums,
            (by_bar.unwrap_or_default(), low),
        )
    }

    fn is_ready(&self) -> bool {
        let mut feeds = self.tracks.iter().flat_map(|track| &track.feeds);
        !self.tracks.is_empty() && feeds.all(|feed| self.spectra.ready(feed))
    }

    /// Takes in the next window.
    fn window(&mut self) {
        for track in &mut self.tracks {
            for (feed, laid) in track.feeds.iter().zip(&mut track.laid) {
                self.spectra.lay(feed, laid);
            }
            if let [left, right, middle] = track.laid.as_mut_slice() {
                middle.middle(left, right);
            }
            track.sounds = !track.laid.iter().all(Laid::is_silent);
        }
        let slot = self.spectra.next % self.counts.0;
        let count = pairs(self.tracks.len());
        let bar = self.spectra.next / self.counts.0;
        for row in 0..self.spectra.rows.len() {
            let mut in_bar = self.bar_sums.as_mut().and_then(|(weights, sums)| {
                let sums = sums.get_mut(2 * bar * count..2 * (bar + 1) * count)?;
                let (left, right) = sums.split_at_mut(count);
                Some((*weights.get(row)?, left.iter_mut(), right.iter_mut()))
            });
            let start = (row * self.counts.0 + slot) * count;
            let mut sums = self
                .sums
                .each_mut()
                .map(|side| side[start..start + count].iter_mut());
            for (index, one) in self.tracks.iter().enumerate() {
                for other in &self.tracks[index..] {
                    let cells = sums.each_mut().map(Iterator::next);
                    let bars = in_bar.as_mut();
                    let bars = bars.map(|(weight, l, r)| (*weight, l.next(), r.next()));
                    if one.sounds && other.sounds {
                        let powers = add_pair(&self.spectra, row, one, other, cells);
                        if let Some((weight, Some(left), Some(right))) = bars {
                            *left += weight * powers[0];
                            *right += weight * powers[1];
                        }
                    }
                }
            }
        }
        self.low_places();
        self.spectra.next += 1;
    }

    /// Takes in what the guide reads of the next window.
    fn low_places(&mut self) {
        let Some((spots, low)) = &mut self.low else {
            return;
        };
        let slot = self.spectra.next % self.counts.0;
        for spot in spots.get(self.spectra.next).into_iter().flatten() {
            let parts: Vec<(usize, f64)> = row_parts(spot.low_hz, spot.high_hz).collect();
            let mut sums = low.take(spot.place, slot).iter_mut();
            for (index, one) in self.tracks.iter().enumerate() {
                for other in &self.tracks[index..] {
                    let Some(sum) = sums.next() else { return };
                    if one.sounds && other.sounds {
                        *sum += low_pair(&self.spectra, &parts, one, other);
                    }
                }
            }
        }
    }
}

/// Mean of left and right of two tracks' product in part of the low rows.
fn low_pair(spectra: &SlotSpectra, parts: &[(usize, f64)], one: &Track, other: &Track) -> f32 {
    let both_mono = one.is_mono() && other.is_mono();
    let product = |side: usize| -> f64 {
        let (one, other) = (one.side(side), other.side(side));
        let part =
            |&(row, part): &(usize, f64)| part * f64::from(spectra.low_product(row, one, other));
        parts.iter().map(part).sum()
    };
    let left = product(0);
    let right = if both_mono { left } else { product(1) };
    (0.5 * (left + right)) as f32
}

/// Adds what a row holds of two tracks, on every side; gives what it was.
fn add_pair(
    spectra: &SlotSpectra,
    row: usize,
    one: &Track,
    other: &Track,
    cells: [Option<&mut f32>; 3],
) -> [f32; 3] {
    let both_mono = one.is_mono() && other.is_mono();
    let mut powers = [0.0; 3];
    let mut power = 0.0;
    for (side, cell) in cells.into_iter().enumerate() {
        if side == 0 || !both_mono {
            power = spectra.product(row, one.side(side), other.side(side));
        }
        if let Some(cell) = cell {
            *cell += power;
        }
        powers[side] = power;
    }
    powers
}
