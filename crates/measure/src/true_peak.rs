//! True peak: the largest value of the waveform between the samples.
//!
//! ITU-R BS.1770-5, Annex 2 asks for at least four-fold oversampling; its
//! 12-tap example filter reads up to a quarter of a decibel low on bright
//! material. Here cheap looks find the places that can matter, and a precise one
//! reads them:
//!
//! 1. the values half-way between samples, by 24 taps;
//! 2. around each local maximum of samples and half-way values that, by the
//!    parabola through it and a margin, could pass the largest peak so far: the
//!    waveform at sixteen-fold oversampling, by 64 taps, climbed to its top;
//! 3. where that top comes within a margin of the largest peak so far: the same
//!    by 1024 taps, long enough to follow noise up to half the sample rate.
//!
//! Only the third look sets the result. A sine sampled at four points a period
//! (the highest frequency on the doubled grid) has its top at most 1.07 dB over
//! the parabola; the first margin is 1.6 dB. Blocks that cannot reach the largest
//! peak so far are not looked at.

use crate::peak_filters::{HALF, MEDIUM_REACH, PRECISE_REACH, PeakFilters, STEPS, dot};
use crate::wide::wide;

const PARABOLA_MARGIN: f32 = 1.2;
const MEDIUM_MARGIN: f32 = 1.06;
/// Largest ratio of a peak to the larger of the samples and half-way values
/// around it: 1 / cos(pi / 4), and a little for the short filter.
const GRID_HEADROOM: f32 = 1.5;
const CHUNK: usize = 64;
/// Samples kept on each side of the place that is looked at: the precise reach,
/// and what a climb can move.
const MARGIN: usize = PRECISE_REACH + 4;

/// Finds the true peak of one channel.
///
/// ```
/// use cupel_measure::TruePeak;
/// // A sine at a quarter of the rate, sampled beside its tops.
/// let samples: Vec<f64> = (0..4_800)
///     .map(|n| (std::f64::consts::PI * (n as f64 / 2.0 + 0.25)).sin())
///     .collect();
/// let mut meter = TruePeak::new();
/// meter.push(&samples);
/// let peak = meter.finish();
/// assert!(peak > 0.99, "{peak}");
/// ```
#[derive(Clone, Debug)]
pub struct TruePeak {
    filters: &'static PeakFilters,
    /// What was pushed and not yet looked at, with `MARGIN` before it.
    samples: Vec<f32>,
    sample_peak: f64,
    peak: f32,
}

impl Default for TruePeak {
    fn default() -> Self {
        Self::new()
    }
}

impl TruePeak {
    /// A meter at zero; the same for every sample rate.
    pub fn new() -> Self {
        Self {
            filters: PeakFilters::shared(),
            samples: vec![0.0; MARGIN],
            sample_peak: 0.0,
            peak: 0.0,
        }
    }

    /// Takes the next samples, any number of them, 1.0 = full scale.
    ///
    /// What was loudest so far decides where looks are spared, never what they
    /// read; how the stream is cut can move the result by hundredths of a
    /// decibel on noise at most.
    pub fn push(&mut self, samples: &[f64]) {
        for part in samples.chunks(4096) {
            let peak = part.iter().fold(0.0f64, |peak, x| peak.max(x.abs()));
            let single: Vec<f32> = part.iter().map(|&x| x as f32).collect();
            self.push_single(&single, peak);
        }
    }

    /// As [`push`](Self::push), from single precision and with the largest
    /// absolute value already known.
    pub(crate) fn push_single(&mut self, samples: &[f32], sample_peak: f64) {
        self.sample_peak = self.sample_peak.max(sample_peak);
        self.peak = self.peak.max(sample_peak as f32);
        self.samples.extend_from_slice(samples);
        if self.samples.len() >= 8 * MARGIN {
            self.search();
        }
    }

    /// The largest absolute value found, 1.0 for full scale; never under the
    /// largest sample.
    pub fn finish(mut self) -> f64 {
        // The last intervals, and one behind the end.
        self.samples.extend([0.0; MARGIN + HALF]);
        self.search();
        self.sample_peak.max(f64::from(self.peak))
    }

    /// Looks at the intervals after samples `MARGIN..len - MARGIN`.
    fn search(&mut self) {
        let end = self.samples.len() - MARGIN;
        let mut start = MARGIN;
        while start < end {
            let stop = (start + CHUNK).min(end);
            self.search_chunk(start, stop);
            start = stop;
        }
        let used = end - MARGIN;
        self.samples.copy_within(used.., 0);
        self.samples.truncate(self.samples.len() - used);
    }

    fn search_chunk(&mut self, start: usize, stop: usize) {
        let near = &self.samples[start - HALF..stop + HALF];
        let largest = largest(near);
        if largest * self.filters.half_gain * GRID_HEADROOM <= self.peak {
            return;
        }
        // Half-way values from one before the first sample to one after the
        // last, so that every maximum has both neighbours.
        let mut values = [0.0f32; CHUNK + 1];
        let half = &mut values[..stop - start + 1];
        half_way(&self.filters.half, near, half);
        if largest.max(self::largest(half)) * GRID_HEADROOM <= self.peak {
            return;
        }
        for (n, pair) in (start..stop).zip(values.windows(2)) {
            let (x, next) = (self.samples[n], self.samples[n + 1]);
            self.look(n * STEPS, pair[0], x, pair[1]);
            self.look(n * STEPS + STEPS / 2, x, pair[1], next);
        }
    }

    /// Reads the waveform around one point of the doubled grid, at `position`
    /// sixteenths, if it is a maximum that could matter.
    fn look(&mut self, position: usize, before: f32, here: f32, after: f32) {
        let sign = 1f32.copysign(here);
        let (before, here, after) = (sign * before, sign * here, sign * after);
        let curvature = 2.0 * here - before - after;
        if here < before || here < after || curvature <= 0.0 {
            return;
        }
        let slope = after - before;
        let estimate = here + slope * slope / (8.0 * curvature);
        if estimate * PARABOLA_MARGIN <= self.peak {
            return;
        }
        let offset = (STEPS as f32 / 4.0 * slope / curvature).round() as isize;
        let filters = self.filters;
        let near = position.saturating_add_signed(offset);
        let (place, top) = self.climb(near, &filters.medium, MEDIUM_REACH);
        if top * MEDIUM_MARGIN > self.peak {
            let (_, top) = self.climb(place, &filters.precise, PRECISE_REACH);
            self.peak = self.peak.max(top);
        }
    }

    /// From a place in sixteenths uphill to the next top; gives its place and
    /// value.
    fn climb(&self, place: usize, filter: &[Vec<f32>], reach: usize) -> (usize, f32) {
        let at = |place: usize| self.at(place, filter, reach);
        let mut top = (place, at(place));
        for direction in [-1, 1] {
            for _ in 0..STEPS {
                let next = top.0.saturating_add_signed(direction);
                let value = at(next);
                if value <= top.1 {
                    break;
                }
                top = (next, value);
            }
        }
        top
    }

    /// Absolute value of the waveform at a place in sixteenths of a sample.
    fn at(&self, place: usize, filter: &[Vec<f32>], reach: usize) -> f32 {
        let (sample, step) = (place / STEPS, place % STEPS);
        if step == 0 {
            return self.samples[sample].abs();
        }
        let first = (sample + 1).saturating_sub(reach);
        let window = self.samples.get(first..first + 2 * reach);
        window.map_or(0.0, |window| dot(window, &filter[step - 1]).abs())
    }
}

wide! {
    /// `out[i]` lies half-way before sample `i + HALF` of `samples`.
    fn half_way(taps: &[f32; HALF], samples: &[f32], out: &mut [f32]) {
        let count = out.len();
        for (k, &tap) in taps.iter().enumerate() {
            let earlier = &samples[HALF - 1 - k..][..count];
            let later = &samples[HALF + k..][..count];
            for ((sum, a), b) in out.iter_mut().zip(earlier).zip(later) {
                *sum += tap * (a + b);
            }
        }
    }
}

wide! {
    fn largest(samples: &[f32]) -> f32 {
        let mut lanes = [0.0f32; 8];
        let mut chunks = samples.chunks_exact(8);
        for chunk in &mut chunks {
            for (lane, x) in lanes.iter_mut().zip(chunk) {
                let x = x.abs();
                *lane = if x > *lane { x } else { *lane };
            }
        }
        let rest = chunks.remainder().iter().map(|x| x.abs());
        lanes.into_iter().chain(rest).fold(0.0, f32::max)
    }
}
