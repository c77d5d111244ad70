//! Sound into its fold: one pass over the samples of a passage.
//!
//! Two resolutions: windows of 21 ms for the bands above 355 Hz, and of 64 ms on
//! a decimated signal below. Left and right are the real and imaginary part of
//! one transform. A window is looked at only where it lies in the bars.

use cupel_rhythm::BarLines;
use rustfft::FftPlanner;
use rustfft::num_complex::Complex32;

use crate::bands::{BANDS, LOW_BANDS};
use crate::fold::{Cell, FoldedSound, STEPS};
use crate::path::Path;

/// Longest hop.
const HOP_S: f64 = 0.0117;
/// Rate the low bands are read at, at least.
const LOW_RATE_HZ: f64 = 2_700.0;
const LOW_WINDOW_S: f64 = 0.064;
/// Decimation filter length in decimated samples.
const TAPS: usize = 6;

/// Folds the sound of a passage over its bars.
pub struct LayerMeter {
    mono: bool,
    hop: usize,
    decimation: usize,
    /// Last two hops of input, left and right as one number.
    input: Vec<Complex32>,
    low: Vec<Complex32>,
    filled: usize,
    frames_done: usize,
    rate_hz: f64,
    start_s: f64,
    kernel: Vec<f32>,
    high_path: Path,
    low_path: Path,
    /// Start of every step, then the end of the last.
    steps_s: Vec<f64>,
    cells: Vec<[Cell; BANDS]>,
    spans_s: Vec<f64>,
    lines: BarLines,
}

impl LayerMeter {
    /// A meter for the bars given; `start_s` is the time of the first sample that
    /// will be pushed, on the clock of the bar lines. `channels` is at least 1; of
    /// more than two the first two are heard.
    pub fn new(sample_rate_hz: f64, channels: usize, lines: &BarLines, start_s: f64) -> Self {
        let longest = (HOP_S * sample_rate_hz).max(2.0);
        let hop = 1usize << (longest.log2().floor() as u32);
        let mut decimation = 1;
        while sample_rate_hz / (2 * decimation) as f64 > LOW_RATE_HZ && 2 * decimation < hop {
            decimation *= 2;
        }
        let low_rate = sample_rate_hz / decimation as f64;
        let mut planner = FftPlanner::new();
        let high_path = Path::new(
            &mut planner,
            2 * hop,
            2 * hop,
            sample_rate_hz,
            LOW_BANDS..BANDS,
        );
        let low_window = (LOW_WINDOW_S * low_rate).round() as usize;
        let low_path = Path::new(
            &mut planner,
            low_window,
            low_window.next_power_of_two(),
            low_rate,
            0..LOW_BANDS,
        );
        let steps_s = steps_of(lines);
        let count = steps_s.len().saturating_sub(1);
        let low_kept = low_window + TAPS + 2 * hop / decimation;
        Self {
            mono: channels < 2,
            hop,
            decimation,
            input: vec![Complex32::default(); 2 * hop + TAPS * decimation],
            low: vec![Complex32::default(); low_kept],
            filled: 0,
            frames_done: 0,
            rate_hz: sample_rate_hz,
            start_s,
            kernel: kernel(decimation),
            high_path,
            low_path,
            steps_s,
            cells: vec![[Cell::default(); BANDS]; count],
            spans_s: vec![0.0; count],
            lines: lines.clone(),
        }
    }

    /// Takes the next samples, one slice a channel, 1.0 = full scale.
    pub fn push(&mut self, channels: &[&[f64]]) {
        let Some(&left) = channels.first() else {
            return;
        };
        let right = if self.mono {
            left
        } else {
            channels.get(1).copied().unwrap_or(left)
        };
        let mut done = 0;
        let frames = left.len().min(right.len());
        while done < frames {
            let take = (self.hop - self.filled).min(frames - done);
            let base = self.input.len() - self.hop + self.filled;
            for ((out, &l), &r) in self.input[base..base + take]
                .iter_mut()
                .zip(&left[done..])
                .zip(&right[done..])
            {
                *out = Complex32::new(l as f32, r as f32);
            }
            self.filled += take;
            done += take;
            if self.filled == self.hop {
                self.hop_done();
            }
        }
    }

    /// The fold of what was pushed. Steps outside of it are silent.
    pub fn finish(mut self) -> FoldedSound {
        // the window of the last samples, and the delay of the low bands
        let rest = (LOW_WINDOW_S * self.rate_hz) as usize + 3 * self.hop;
        let zeros = vec![0.0; rest];
        self.mono = true;
        self.push(&[&zeros]);
        let slots = self.lines.slots();
        let bars = self.lines.bars();
        for (cells, &span) in self.cells.iter_mut().zip(&self.spans_s) {
            let scale = if span > 0.0 { (1.0 / span) as f32 } else { 0.0 };
            for cell in cells {
                cell.sum *= scale;
                cell.difference *= scale;
                cell.cross *= scale;
            }
        }
        FoldedSound::pack(&self.cells, slots, bars, self.lines.bar_starts_s.clone())
    }

    /// One more hop is in: looks at the windows that end now.
    fn hop_done(&mut self) {
        self.filled = 0;
        self.frames_done += 1;
        let hop_s = self.hop as f64 / self.rate_hz;
        let low_rate = self.rate_hz / self.decimation as f64;
        let end_s = self.start_s + self.frames_done as f64 * hop_s;
        let first = self.steps_s.first().copied().unwrap_or(f64::INFINITY);
        let last = self.steps_s.last().copied().unwrap_or(f64::NEG_INFINITY);
        // half a second early, so that the low windows are full
        if end_s > first - 0.5 && end_s < last + 0.5 {
            self.decimate();
            let base = self.input.len() - 2 * self.hop;
            let middle_s = end_s - hop_s;
            if let Some(reach) = reach(&self.steps_s, middle_s, hop_s) {
                self.high_path.run(&self.input[base..]);
                spread(&self.high_path, LOW_BANDS, &reach, &mut self.cells);
                for &(step, span_s) in &reach {
                    self.spans_s[step] += span_s;
                }
            }
            // centre of the window, less the delay of the decimation filter
            let window = self.low_path.window.len();
            let delay_s = 0.5 * (TAPS * self.decimation) as f64 / self.rate_hz;
            let middle_s = end_s - delay_s - 0.5 * window as f64 / low_rate;
            if let Some(reach) = reach(&self.steps_s, middle_s, hop_s) {
                let base = self.low.len() - window;
                self.low_path.run(&self.low[base..]);
                spread(&self.low_path, 0, &reach, &mut self.cells);
            }
        }
        self.input.copy_within(self.hop.., 0);
    }

    fn decimate(&mut self) {
        let made = self.hop / self.decimation;
        self.low.copy_within(made.., 0);
        let to = self.low.len() - made;
        let length = self.kernel.len();
        for index in 0..made {
            let end = self.input.len() - self.hop + (index + 1) * self.decimation;
            let mut sum = [Complex32::default(); 4];
            let taps = self.kernel.chunks_exact(4);
            for (k, x) in taps.zip(self.input[end - length..end].chunks_exact(4)) {
                for lane in 0..4 {
                    sum[lane] += x[lane] * k[lane];
                }
            }
            self.low[to + index] = sum[0] + sum[1] + sum[2] + sum[3];
        }
    }
}

fn spread(path: &Path, first: usize, reach: &[(usize, f64)], cells: &mut [[Cell; BANDS]]) {
    for band in 0..path.bands.len() {
        let cell = path.cell(band);
        for &(step, span_s) in reach {
            let span = span_s as f32;
            let to = &mut cells[step][first + band];
            to.sum += span * cell.sum;
            to.difference += span * cell.difference;
            to.cross += span * cell.cross;
        }
    }
}

/// Steps a hop about `middle_s` reaches into, and for how long.
fn reach(steps_s: &[f64], middle_s: f64, hop_s: f64) -> Option<Vec<(usize, f64)>> {
    let (from, to) = (middle_s - 0.5 * hop_s, middle_s + 0.5 * hop_s);
    let mut step = steps_s.partition_point(|&s| s <= from).saturating_sub(1);
    let mut reached = Vec::with_capacity(2);
    while step + 1 < steps_s.len() && steps_s[step] < to {
        let span_s = to.min(steps_s[step + 1]) - from.max(steps_s[step]);
        if span_s > 0.0 {
            reached.push((step, span_s));
        }
        step += 1;
    }
    (!reached.is_empty()).then_some(reached)
}

/// Every sixteenth in equal parts.
fn steps_of(lines: &BarLines) -> Vec<f64> {
    let slots_s = lines.slot_starts_s();
    let mut steps = Vec::with_capacity(slots_s.len() * STEPS);
    for slot in slots_s.windows(2) {
        let step_s = (slot[1] - slot[0]) / STEPS as f64;
        steps.extend((0..STEPS).map(|step| slot[0] + step as f64 * step_s));
    }
    if let (false, Some(&end)) = (steps.is_empty(), slots_s.last()) {
        steps.push(end);
    }
    steps
}

/// Low pass for the decimation: a raised-cosine window, nulls about multiples of
/// the decimated rate.
fn kernel(decimation: usize) -> Vec<f32> {
    let length = TAPS * decimation;
    let mut kernel: Vec<f64> = (0..length)
        .map(|n| {
            let place = (n as f64 + 0.5) / length as f64 - 0.5;
            let x = std::f64::consts::PI * place * TAPS as f64 * 0.6;
            let sinc = if x.abs() < 1e-9 { 1.0 } else { x.sin() / x };
            sinc * (0.5 + 0.5 * (std::f64::consts::TAU * place).cos())
        })
        .collect();
    let sum: f64 = kernel.iter().sum();
    kernel.iter_mut().for_each(|k| *k /= sum);
    kernel.iter().map(|&k| k as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::centre_hz;

    fn lines(bars: usize, bar_s: f64) -> BarLines {
        BarLines {
            bar_starts_s: (0..=bars).map(|bar| 0.3 + bar as f64 * bar_s).collect(),
            beats_per_bar: 4,
            swing: 0.5,
        }
    }

    fn fold(rate_hz: f64, block: usize, sound: impl Fn(f64) -> (f64, f64)) -> FoldedSound {
        let frames = (5.0 * rate_hz) as usize;
        let both: Vec<(f64, f64)> = (0..frames).map(|n| sound(n as f64 / rate_hz)).collect();
        let left: Vec<f64> = both.iter().map(|both| both.0).collect();
        let right: Vec<f64> = both.iter().map(|both| both.1).collect();
        let mut meter = LayerMeter::new(rate_hz, 2, &lines(2, 2.0), 0.0);
        for (left, right) in left.chunks(block).zip(right.chunks(block)) {
            meter.push(&[left, right]);
        }
        meter.finish()
    }

    #[test]
    fn a_sine_has_its_power_in_its_band_and_its_side() {
        // closed form: mean square of a sine is a half of its squared peak; pan
        // by constant power at +0.5
        let angle = std::f64::consts::FRAC_PI_4 * 1.5;
        for (rate_hz, band) in [(44_100.0, 3), (48_000.0, 13), (96_000.0, 20), (48_000.0, 6)] {
            let hz = centre_hz(band);
            let fold = fold(rate_hz, 1000, |t| {
                let x = 0.5 * (std::f64::consts::TAU * hz * t).sin();
                (angle.cos() * x, angle.sin() * x)
            });
            for cells in fold.cells() {
                let near: f32 = cells[band - 1..=band + 1].iter().map(|c| c.sum).sum();
                assert!((10.0 * (near / 0.125).log10()).abs() < 0.6, "{hz} {near}");
                let side = cells[band].difference / cells[band].sum;
                assert!(
                    (side - std::f32::consts::FRAC_1_SQRT_2).abs() < 0.01,
                    "{side}"
                );
                let alike = 2.0 * cells[band].cross / cells[band].sum;
                assert!(
                    (alike - std::f32::consts::FRAC_1_SQRT_2).abs() < 0.01,
                    "{alike}"
                );
            }
        }
    }

    #[test]
    fn a_click_falls_into_its_step_whatever_the_blocks() {
        // first frame of the fifth sixteenth of the second bar
        let at_s = 0.3 + 2.0 + 4.0 * 0.125;
        let click = |t: f64| {
            let x = if (t - at_s).abs() < 0.5 / 48_000.0 {
                1.0
            } else {
                0.0
            };
            (x, x)
        };
        let whole = fold(48_000.0, 1_000_000, click);
        assert_eq!(whole, fold(48_000.0, 77, click));
        let cells = whole.cells();
        let powers: Vec<f32> = cells.iter().map(|bands| bands[20].sum).collect();
        let step = (16 + 4) * STEPS;
        let near: f32 = powers[step - 1..=step].iter().sum();
        assert!(near > 0.98 * powers.iter().sum::<f32>());
    }

    #[test]
    fn nothing_pushed_is_silence() {
        let fold = LayerMeter::new(48_000.0, 1, &lines(1, 2.0), 0.0).finish();
        assert_eq!((fold.bars(), fold.slots()), (1, 16));
        assert!(fold.powers.iter().all(|&code| code == 0));
    }
}
