//! Energy in critical bands over time.
//!
//! Band edges: E. Zwicker, "Subdivision of the audible frequency range into
//! critical bands", JASA 33 (1961), 24 bands to 15.5 kHz (figures from memory),
//! and one more band up to half the sample rate.
//!
//! **Resolution.** At 48 kHz a frame spans 85.3 ms (half of it weighs more than
//! half: 42.7 ms) and frames lie 21.3 ms apart; at 44.1 kHz 92.9 and 23.2 ms.
//! Two events closer than about 45 ms are not told apart, and energy shows up
//! to 43 ms before and after the event. Bins lie 11.7 Hz apart at 48 kHz (10.8
//! at 44.1 kHz); a tone spreads over two bins to each side, so that band edges
//! are about 25 Hz soft.

use crate::bin_span::BinSpan;
use crate::frame_powers::Powers;
use crate::log_power::{decode, encode};
use serde::{Deserialize, Serialize};

/// Number of bands.
pub const CRITICAL_BANDS: usize = 25;

const EDGES_HZ: [f64; CRITICAL_BANDS] = [
    0.0, 100.0, 200.0, 300.0, 400.0, 510.0, 630.0, 770.0, 920.0, 1080.0, 1270.0, 1480.0, 1720.0,
    2000.0, 2320.0, 2700.0, 3150.0, 3700.0, 4400.0, 5300.0, 6400.0, 7700.0, 9500.0, 12000.0,
    15500.0,
];

/// Critical-band powers, frame by frame, in steps of 0.01 dB.
///
/// Frame `i` covers `window_s` seconds and is centred at
/// [`centre_s`](Self::centre_s)`(i)`; the first frames reach back before the
/// first sample, the last ones beyond the end, so that the powers of all frames
/// times `hop_s` add up to the energy of the file. Within 0.1 s of either end a
/// steady sound therefore reads up to its full fade-in.
///
/// The vectors hold `frames * 25` codes, frame by frame: 0 is silence, any other
/// code `c` is `(c - 1) / 100 - 200` dB of mean square. Mono keeps one vector.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BandFrames {
    /// Seconds between frames.
    pub hop_s: f64,
    /// Length of a frame in seconds.
    pub window_s: f64,
    /// The 26 band edges; those above half the sample rate are held to it, and
    /// the bands there are empty.
    pub edges_hz: Vec<f64>,
    /// Number of frames.
    pub frames: usize,
    /// Codes of the left side, or of a mono file.
    pub left: Vec<u16>,
    /// Codes of the right side; empty for mono.
    pub right: Vec<u16>,
    /// Codes of (left + right) / 2; empty for mono.
    pub mid: Vec<u16>,
}

impl BandFrames {
    /// Number of bands.
    pub fn bands(&self) -> usize {
        CRITICAL_BANDS
    }

    /// Time of the middle of a frame, in seconds; the first ones are negative.
    pub fn centre_s(&self, frame: usize) -> f64 {
        (frame + 1) as f64 * self.hop_s - self.window_s / 2.0
    }

    /// Mean square of the left side in one band; a mono file plays on both.
    pub fn left(&self, frame: usize, band: usize) -> f64 {
        value(&self.left, frame, band)
    }

    /// Mean square of the right side in one band.
    pub fn right(&self, frame: usize, band: usize) -> f64 {
        value(self.second(&self.right), frame, band)
    }

    /// Mean square of (left + right) / 2 in one band.
    pub fn mid(&self, frame: usize, band: usize) -> f64 {
        value(self.second(&self.mid), frame, band)
    }

    /// Mean square of one band, mean of both sides. Out of range gives 0.
    pub fn power(&self, frame: usize, band: usize) -> f64 {
        0.5 * (self.left(frame, band) + self.right(frame, band))
    }

    /// Mean power of every band over the frames centred within
    /// `start_s..end_s`; zeros where there is none.
    pub fn band_power_between(&self, start_s: f64, end_s: f64) -> Vec<f64> {
        let frames = self.frames_between(start_s, end_s);
        let mut sums = [0.0; CRITICAL_BANDS];
        for frame in frames.clone() {
            for (band, sum) in sums.iter_mut().enumerate() {
                *sum += self.power(frame, band);
            }
        }
        let count = frames.len().max(1) as f64;
        sums.iter().map(|sum| sum / count).collect()
    }

    /// The frames centred within `start_s..end_s`.
    pub fn frames_between(&self, start_s: f64, end_s: f64) -> std::ops::Range<usize> {
        let first_at_or_after = |time_s: f64| {
            let frame = (time_s + self.window_s / 2.0) / self.hop_s - 1.0;
            (frame.max(0.0).ceil() as usize).min(self.frames)
        };
        let first = first_at_or_after(start_s);
        first..first_at_or_after(end_s).max(first)
    }

    /// Puts frames behind these that were taken later from the same meter.
    pub fn append(&mut self, later: &BandFrames) {
        self.frames += later.frames;
        self.left.extend(&later.left);
        self.right.extend(&later.right);
        self.mid.extend(&later.mid);
    }

    fn second<'a>(&'a self, codes: &'a [u16]) -> &'a [u16] {
        if self.right.is_empty() {
            &self.left
        } else {
            codes
        }
    }
}

fn value(codes: &[u16], frame: usize, band: usize) -> f64 {
    if band >= CRITICAL_BANDS {
        return 0.0;
    }
    codes
        .get(frame * CRITICAL_BANDS + band)
        .map_or(0.0, |&code| decode(code))
}

/// Gathers [`BandFrames`] from the powers of frames.
pub(crate) struct BandFrameWriter {
    spans: Vec<BinSpan>,
    out: BandFrames,
    /// Whether frames are kept at all.
    keep: bool,
}

impl BandFrameWriter {
    pub fn new(sample_rate_hz: u32, hop: usize, size: usize) -> Self {
        let rate = f64::from(sample_rate_hz);
        let nyquist = rate / 2.0;
        let mut edges_hz: Vec<f64> = EDGES_HZ.iter().map(|edge| edge.min(nyquist)).collect();
        edges_hz.push(nyquist);
        let (width_hz, bins) = (rate / size as f64, size / 2 + 1);
        let spans = edges_hz
            .windows(2)
            .enumerate()
            .map(|(band, edge)| BinSpan::new(edge[0], top(edge, band, rate), width_hz, bins))
            .collect();
        Self {
            spans,
            out: BandFrames {
                hop_s: hop as f64 / rate,
                window_s: size as f64 / rate,
                edges_hz,
                frames: 0,
                left: Vec::new(),
                right: Vec::new(),
                mid: Vec::new(),
            },
            keep: true,
        }
    }

    /// Keeps no frame from here on.
    pub fn discard(&mut self) {
        self.keep = false;
    }

    /// The frames since the last call.
    pub fn take(&mut self) -> BandFrames {
        BandFrames {
            hop_s: self.out.hop_s,
            window_s: self.out.window_s,
            edges_hz: self.out.edges_hz.clone(),
            frames: std::mem::take(&mut self.out.frames),
            left: std::mem::take(&mut self.out.left),
            right: std::mem::take(&mut self.out.right),
            mid: std::mem::take(&mut self.out.mid),
        }
    }

    pub fn push(&mut self, powers: &Powers<f32>) {
        if !self.keep {
            return;
        }
        self.out.frames += 1;
        for span in &self.spans {
            let left = span.sum(&powers.left);
            self.out.left.push(encode(left));
            if powers.right.is_empty() {
                continue;
            }
            let (right, cross) = (span.sum(&powers.right), span.sum(&powers.cross));
            self.out.right.push(encode(right));
            self.out
                .mid
                .push(encode(0.25 * (left + right) + 0.5 * cross));
        }
    }

    pub fn finish(mut self) -> BandFrames {
        self.out.left.shrink_to_fit();
        self.out.right.shrink_to_fit();
        self.out.mid.shrink_to_fit();
        self.out
    }
}

/// The band that ends at half the rate takes the whole last bin.
fn top(edge: &[f64], band: usize, rate: f64) -> f64 {
    let last_band = band + 1 == CRITICAL_BANDS;
    let reaches_nyquist = edge[1] >= rate / 2.0 && edge[0] < edge[1];
    if last_band || reaches_nyquist {
        rate
    } else {
        edge[1]
    }
}
