//! Sliding windows over K-weighted power.
//!
//! Energy arrives in sub-blocks of 10 ms. Maxima of momentary (400 ms) and
//! short-term loudness (3 s) are taken at that 100 Hz hop, which EBU Tech 3341
//! test 13 needs; the 100 ms powers kept for curves and gates are every tenth.
//! Every window is summed afresh: no running sum, so nothing drifts.

use crate::gating::{loudness_of_power, lufs};

/// Sub-blocks in a second.
pub(crate) const SUB_BLOCKS_PER_S: u64 = 100;
const TEN: usize = 10;
const MOMENTARY: usize = 40;
const SHORT_TERM: usize = 300;

/// Where the sub-blocks end, in frames; exact at rates that are whole hundreds,
/// else rounded, without drift.
#[derive(Clone, Debug)]
pub(crate) struct SubBlockClock {
    sample_rate_hz: u64,
    index: u64,
    left: usize,
}

impl SubBlockClock {
    pub fn new(sample_rate_hz: u32) -> Self {
        let mut clock = Self {
            sample_rate_hz: u64::from(sample_rate_hz),
            index: 0,
            left: 0,
        };
        clock.left = clock.length();
        clock
    }

    fn length(&self) -> usize {
        let end = |i: u64| (i * self.sample_rate_hz + SUB_BLOCKS_PER_S / 2) / SUB_BLOCKS_PER_S;
        (end(self.index + 1) - end(self.index)) as usize
    }

    /// Frames until the current sub-block ends.
    pub fn frames_left(&self) -> usize {
        self.left
    }

    /// Moves on by at most [`frames_left`](Self::frames_left); true where a
    /// sub-block ended.
    pub fn advance(&mut self, frames: usize) -> bool {
        self.left -= frames;
        if self.left > 0 {
            return false;
        }
        self.index += 1;
        self.left = self.length();
        true
    }
}

/// Windows of power over one weighted sum of channels.
#[derive(Clone, Debug)]
pub(crate) struct PowerTrack {
    frames_per_sub_block: f64,
    recent: [f64; TEN],
    /// Sums of the last ten sub-blocks, one for each of the last 300.
    tens: Vec<f64>,
    count: usize,
    max_momentary: f64,
    max_short_term: f64,
    /// Mean power of each whole 100 ms.
    powers: Vec<f64>,
}

impl PowerTrack {
    pub fn new(sample_rate_hz: u32) -> Self {
        Self {
            frames_per_sub_block: f64::from(sample_rate_hz) / SUB_BLOCKS_PER_S as f64,
            recent: [0.0; TEN],
            tens: vec![0.0; SHORT_TERM],
            count: 0,
            max_momentary: 0.0,
            max_short_term: 0.0,
            powers: Vec::new(),
        }
    }

    /// Takes the energy of the next sub-block (a sum of squares).
    pub fn push(&mut self, energy: f64) {
        self.recent[self.count % TEN] = energy;
        let ten: f64 = self.recent.iter().sum();
        self.tens[self.count % SHORT_TERM] = ten;
        self.count += 1;
        if self.count >= MOMENTARY {
            self.max_momentary = self.max_momentary.max(self.window(MOMENTARY));
        }
        if self.count >= SHORT_TERM {
            self.max_short_term = self.max_short_term.max(self.window(SHORT_TERM));
        }
        if self.count.is_multiple_of(TEN) {
            self.powers
                .push(ten / (self.frames_per_sub_block * TEN as f64));
        }
    }

    /// Mean power of the window of `length` sub-blocks that ends now.
    fn window(&self, length: usize) -> f64 {
        let last = self.count - 1;
        let sum: f64 = (0..length / TEN)
            .map(|back| self.tens[(last - back * TEN) % SHORT_TERM])
            .sum();
        sum / (self.frames_per_sub_block * length as f64)
    }

    pub fn max_momentary_lufs(&self) -> Option<f64> {
        lufs(self.max_momentary)
    }

    pub fn max_short_term_lufs(&self) -> Option<f64> {
        lufs(self.max_short_term)
    }

    pub fn powers(&self) -> &[f64] {
        &self.powers
    }
}

/// Loudness of every window of `length` 100 ms powers that ends at each power;
/// minus infinity where the window is not yet full or is silent.
pub(crate) fn sliding_loudness(powers: &[f64], length: usize) -> Vec<f32> {
    let mut curve = vec![f32::NEG_INFINITY; powers.len()];
    for (end, window) in powers.windows(length).enumerate() {
        let mean = window.iter().sum::<f64>() / length as f64;
        curve[end + length - 1] = loudness_of_power(mean) as f32;
    }
    curve
}
