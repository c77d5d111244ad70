//! Kick and bass around the hits where both may sound, low-passed: whether they add
//! up, and whether they would a little earlier or later.

use serde::{Deserialize, Serialize};

/// Rate of the waves, near this, hertz.
const RATE_HZ: f64 = 4000.0;
/// What counts as low, and where nothing is left, hertz.
const LOW_HZ: f64 = 150.0;
const STOP_HZ: f64 = 300.0;
/// A hit reaches from this long before it to that long after, seconds.
const BEFORE_S: f64 = 0.01;
const AFTER_S: f64 = 0.14;
/// The other wave may be shifted by this much, seconds.
pub const MOST_SHIFT_S: f64 = 0.01;

/// Low-passed waves of two sounds around some hits.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LowWaves {
    /// Frames a second.
    pub rate_hz: f64,
    /// Hit by hit.
    pub hits: Vec<WavePair>,
}

/// One hit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WavePair {
    /// Of the sound that stays, over the hit.
    pub fixed: Vec<f32>,
    /// Of the sound that may move, over the hit and [`LowWaves::margin`] frames more
    /// on either side.
    pub moved: Vec<f32>,
}

impl LowWaves {
    /// Frames by which the moved sound may be shifted either way.
    pub fn margin(&self) -> usize {
        (MOST_SHIFT_S * self.rate_hz).round() as usize
    }
}

/// Streaming meter of [`LowWaves`]; opens no files, starts no threads. The result does
/// not depend on how the stream is cut.
#[derive(Clone, Debug)]
pub struct LowWaveMeter {
    step: usize,
    rate_hz: f64,
    taps: Vec<f64>,
    /// First frame of every hit at the lower rate, margin included, from the start of
    /// the stream; rising.
    firsts: Vec<usize>,
    length: usize,
    margin: usize,
    /// What was pushed and may still be needed, of both; begins at frame `held_from`.
    held: [Vec<f64>; 2],
    held_from: usize,
    waves: LowWaves,
}

impl LowWaveMeter {
    /// A meter for a stream that begins at `start_s`; `hits_s` rise. Hits that the
    /// stream does not hold whole are left out.
    pub fn new(sample_rate_hz: f64, start_s: f64, hits_s: &[f64]) -> Self {
        let step = (sample_rate_hz / RATE_HZ).floor().max(1.0) as usize;
        let rate_hz = sample_rate_hz / step as f64;
        let taps = low_pass(sample_rate_hz);
        let waves = LowWaves {
            rate_hz,
            hits: Vec::new(),
        };
        let margin = waves.margin();
        let half = (taps.len() / 2) as f64 / sample_rate_hz;
        let earliest_s = BEFORE_S + margin as f64 / rate_hz;
        let firsts = hits_s
            .iter()
            .map(|hit_s| hit_s - earliest_s - start_s)
            .filter(|first_s| *first_s > half)
            .map(|first_s| (first_s * rate_hz).round() as usize)
            .collect();
        Self {
            step,
            rate_hz,
            taps,
            firsts,
            length: ((BEFORE_S + AFTER_S) * rate_hz).round() as usize,
            margin,
            held: Default::default(),
            held_from: 0,
            waves,
        }
    }

    /// Adds a block of both sounds, of one length.
    pub fn push(&mut self, fixed: &[f64], moved: &[f64]) {
        self.held[0].extend_from_slice(fixed);
        self.held[1].extend_from_slice(moved);
        let half = self.taps.len() / 2;
        let length = self.length + 2 * self.margin;
        while let Some(&first) = self.firsts.first() {
            let last = (first + length) * self.step + half;
            let held_to = self.held_from + self.held[0].len().min(self.held[1].len());
            if last >= held_to {
                break;
            }
            self.firsts.remove(0);
            let fixed = self.read(0, first + self.margin, self.length);
            let moved = self.read(1, first, length);
            self.waves.hits.push(WavePair { fixed, moved });
        }
        let needed = match self.firsts.first() {
            Some(first) => (first * self.step).saturating_sub(half),
            None => usize::MAX,
        };
        let used = needed.saturating_sub(self.held_from);
        let used = used.min(self.held[0].len()).min(self.held[1].len());
        self.held.iter_mut().for_each(|held| {
            held.drain(..used);
        });
        self.held_from += used;
    }

    /// The waves of all hits.
    pub fn finish(self) -> LowWaves {
        debug_assert!(self.rate_hz > 0.0);
        self.waves
    }

    /// Low-passed frames at the lower rate.
    fn read(&self, sound: usize, first: usize, count: usize) -> Vec<f32> {
        let half = self.taps.len() / 2;
        let frames = first..first + count;
        frames
            .map(|frame| {
                let from = frame * self.step - half - self.held_from;
                let window = &self.held[sound][from..from + self.taps.len()];
                let sum: f64 = window.iter().zip(&self.taps).map(|(x, tap)| x * tap).sum();
                sum as f32
            })
            .collect()
    }
}

/// A sinc in the window of Hamming, of odd length; its transition is about 3.3 over
/// its length in seconds (Oppenheim and Schafer, table of windows).
fn low_pass(sample_rate_hz: f64) -> Vec<f64> {
    let half = (0.5 * 3.3 * sample_rate_hz / (STOP_HZ - LOW_HZ)).ceil() as i64;
    let cutoff = 0.5 * (LOW_HZ + STOP_HZ) / sample_rate_hz;
    let tap = |n: i64| {
        let x = std::f64::consts::TAU * cutoff * n as f64;
        let sinc = if n == 0 { 1.0 } else { x.sin() / x };
        let window = 0.54 + 0.46 * (std::f64::consts::PI * n as f64 / half as f64).cos();
        2.0 * cutoff * sinc * window
    };
    let taps: Vec<f64> = (-half..=half).map(tap).collect();
    let sum: f64 = taps.iter().sum();
    taps.into_iter().map(|tap| tap / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAMES: usize = 96_000;

    fn sine(hertz: f64, delay_s: f64) -> Vec<f64> {
        let at = |n: usize| std::f64::consts::TAU * hertz * (n as f64 / 48_000.0 - delay_s);
        (0..FRAMES).map(|n| at(n).sin()).collect()
    }

    fn waves(fixed: &[f64], moved: &[f64], block: usize) -> LowWaves {
        let mut meter = LowWaveMeter::new(48_000.0, 10.0, &[9.0, 10.5, 11.0, 11.99]);
        for (fixed, moved) in fixed.chunks(block).zip(moved.chunks(block)) {
            meter.push(fixed, moved);
        }
        meter.finish()
    }

    #[test]
    fn what_is_low_passes_in_step_and_what_is_high_does_not() {
        let low = sine(60.0, 0.0);
        let high: Vec<f64> = sine(400.0, 0.0);
        let both: Vec<f64> = low.iter().zip(&high).map(|(a, b)| a + b).collect();
        let found = waves(&both, &sine(60.0, 0.003), 1000);
        // Before the stream, and cut off by its end: left out.
        assert_eq!((found.hits.len(), found.rate_hz), (2, 4000.0));
        let first_s = (0.5 - BEFORE_S - MOST_SHIFT_S) * 4000.0;
        let start = first_s.round() / 4000.0;
        for (n, x) in found.hits[0].fixed.iter().enumerate() {
            let time_s = start + MOST_SHIFT_S + n as f64 / 4000.0;
            let wanted = (std::f64::consts::TAU * 60.0 * time_s).sin();
            // Hamming: at most 0.0022 in the pass band, 53 dB down outside.
            assert!((f64::from(*x) - wanted).abs() < 0.005, "{n}: {x} {wanted}");
        }
        for (n, x) in found.hits[0].moved.iter().enumerate() {
            let time_s = start + n as f64 / 4000.0 - 0.003;
            let wanted = (std::f64::consts::TAU * 60.0 * time_s).sin();
            assert!((f64::from(*x) - wanted).abs() < 0.005, "{n}: {x} {wanted}");
        }
    }

    #[test]
    fn how_the_stream_is_cut_changes_nothing() {
        let (fixed, moved) = (sine(51.0, 0.0), sine(77.0, 0.001));
        let whole = waves(&fixed, &moved, FRAMES);
        for block in [1, 511, 8192] {
            assert_eq!(waves(&fixed, &moved, block), whole);
        }
    }
}
