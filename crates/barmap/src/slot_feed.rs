//! Cuts one channel into the windows of the sixteenths.
//!
//! A window runs from the fade before its sixteenth to the fade before the next.
//! Fades follow the power-complementary slope sin(pi/2 sin^2(pi u/2)) (Vorbis I
//! specification, section 4.3.1): the squares of all windows add up to 1.

use std::f64::consts::FRAC_PI_2;

use cupel_rhythm::BarLines;

use crate::decimator::Decimator;

/// Fades end this long before the sixteenth starts: early hits and small errors
/// of the grid stay in their place.
pub const LEAD_S: f64 = 0.008;
/// Length of the fade above 151 Hz.
pub const HIGH_FADE_S: f64 = 0.014;
/// Length of the fade below 151 Hz, where long fades keep rows apart.
pub const LOW_FADE_S: f64 = 0.03;
/// A fade takes at most this part of the shortest sixteenth.
const LONGEST_FADE: f64 = 0.6;

/// Where the windows lie at one sample rate.
#[derive(Clone, Debug)]
pub(crate) struct Cuts {
    /// First sample after the fade before each sixteenth, and before the end.
    edges: Vec<i64>,
    /// Rising half of a fade.
    fade: Vec<f32>,
    /// Sixteenths in samples, exactly.
    lengths: Vec<f64>,
}

impl Cuts {
    /// Cuts for samples that start at `start_s`.
    pub(crate) fn new(lines: &BarLines, start_s: f64, rate_hz: f64, fade_s: f64) -> Self {
        let starts_s = lines.slot_starts_s();
        let lengths_s = || starts_s.windows(2).map(|pair| pair[1] - pair[0]);
        let shortest_s = lengths_s().fold(f64::INFINITY, f64::min);
        let fade_s = fade_s.min(LONGEST_FADE * shortest_s).max(0.0);
        let count = (fade_s * rate_hz).round().max(1.0) as usize;
        let fade = (0..count).map(|n| {
            let half = (FRAC_PI_2 * (n as f64 + 0.5) / count as f64).sin();
            (FRAC_PI_2 * half * half).sin() as f32
        });
        Self {
            edges: starts_s
                .iter()
                .map(|&slot_s| ((slot_s - LEAD_S - start_s) * rate_hz).round() as i64)
                .collect(),
            fade: fade.collect(),
            lengths: lengths_s().map(|slot_s| slot_s * rate_hz).collect(),
        }
    }

    /// Number of windows.
    pub(crate) fn count(&self) -> usize {
        self.lengths.len()
    }

    /// Length in samples of a sixteenth, by which its energy becomes power.
    pub(crate) fn length(&self, window: usize) -> f64 {
        self.lengths[window]
    }

    /// Samples of the longest window.
    pub(crate) fn longest(&self) -> usize {
        let lengths = self.edges.windows(2).map(|edge| edge[1] - edge[0]);
        lengths.max().unwrap_or(0).max(0) as usize + self.fade.len()
    }

    /// First sample of a window and the one after its last.
    fn span(&self, window: usize) -> (i64, i64) {
        let end = self.edges[window + 1];
        (self.edges[window] - self.fade.len() as i64, end)
    }
}

/// Samples of one channel that windows still need.
#[derive(Clone, Debug, Default)]
pub(crate) struct Kept {
    samples: Vec<f32>,
    first: i64,
}

impl Kept {
    fn end(&self) -> i64 {
        self.first + self.samples.len() as i64
    }

    /// Whether all samples of a window are there.
    pub(crate) fn holds(&self, cuts: &Cuts, window: usize) -> bool {
        window < cuts.count() && self.end() >= cuts.span(window).1
    }

    /// Writes a window's samples, faded, to the start of `out` and zeros after
    /// them; samples that were never pushed are silence.
    pub(crate) fn cut(&self, cuts: &Cuts, window: usize, out: &mut [f32]) {
        out.fill(0.0);
        let (start, end) = cuts.span(window);
        let (from, to) = (start.max(self.first), end.min(self.end()));
        if from >= to {
            return;
        }
        let place = (from - start) as usize;
        let count = ((to - from) as usize).min(out.len().saturating_sub(place));
        let source = (from - self.first) as usize;
        out[place..place + count].copy_from_slice(&self.samples[source..source + count]);
        let fade = cuts.fade.len();
        for (x, gain) in out.iter_mut().zip(&cuts.fade) {
            *x *= gain;
        }
        let length = (end - start) as usize;
        for (x, gain) in out[length - fade..length]
            .iter_mut()
            .zip(cuts.fade.iter().rev())
        {
            *x *= gain;
        }
    }

    /// Drops what the windows from `window` on do not need.
    pub(crate) fn drop_before(&mut self, cuts: &Cuts, window: usize) {
        let needed = if window < cuts.count() {
            cuts.span(window).0.clamp(self.first, self.end())
        } else {
            self.end()
        };
        self.samples.drain(..(needed - self.first) as usize);
        self.first = needed;
    }
}

/// One channel on its way into windows: as it is, and its low end.
#[derive(Clone, Debug)]
pub(crate) struct SlotFeed {
    decimator: Decimator,
    pub(crate) high: Kept,
    pub(crate) low: Kept,
}

impl SlotFeed {
    pub(crate) fn new(sample_rate_hz: f64) -> Self {
        Self {
            decimator: Decimator::new(sample_rate_hz),
            high: Kept::default(),
            low: Kept::default(),
        }
    }

    /// Adds samples; those that are not finite play as silence.
    pub(crate) fn push(&mut self, samples: &[f64]) {
        let before = self.high.samples.len();
        let sound = |&x: &f64| if x.is_finite() { x as f32 } else { 0.0 };
        self.high.samples.extend(samples.iter().map(sound));
        let fresh = &self.high.samples[before..];
        self.decimator.push(fresh, &mut self.low.samples);
    }

    /// Ends with silence, so that the low end comes out whole.
    pub(crate) fn finish(&mut self) {
        let tail = vec![0.0; self.decimator.tail()];
        self.decimator.push(&tail, &mut self.low.samples);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn squares_of_the_windows_add_up_to_one() {
        let lines = BarLines {
            bar_starts_s: vec![0.5, 2.4, 4.31],
            beats_per_bar: 4,
            swing: 0.57,
        };
        for fade_s in [HIGH_FADE_S, LOW_FADE_S, 0.5] {
            let cuts = Cuts::new(&lines, 0.1, 8000.0, fade_s);
            let kept = Kept {
                samples: vec![1.0; 40_000],
                first: 0,
            };
            let mut sum = vec![0.0f32; 40_000];
            let mut window = vec![0.0; cuts.longest()];
            for index in 0..cuts.count() {
                kept.cut(&cuts, index, &mut window);
                let start = cuts.span(index).0 as usize;
                for (n, w) in window.iter().enumerate() {
                    sum[start + n] += w * w;
                }
            }
            // From the first sixteenth, 0.4 s after the samples start, to the last fade.
            for (n, sum) in sum.iter().enumerate().take(32_900).skip(3_200) {
                assert!((sum - 1.0).abs() < 1e-6, "{n}: {sum}");
            }
        }
    }
}
