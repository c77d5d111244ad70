//! The phase vocoder that lays parts of a passage into a loop.
//!
//! Each frame is shifted in phase, peak by peak, so that it goes on from the frame
//! before it; all bins around a peak turn by the peak's angle (identity phase
//! locking, Laroche and Dolson 1999, section IV), and all channels alike, so that
//! phases between channels stay. Where input and output move at one speed nothing
//! turns, and the sound passes as it is.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

use crate::parts::{Part, Parts};

/// Length of a frame, in seconds; rounded to a power of two.
const WINDOW_S: f64 = 0.085;

/// Frames overlap this many times.
const OVERLAP: usize = 8;

/// A tone goes on across an onset where it was at least this strong before it, as a
/// part of the power after it.
const GOES_ON: f64 = 0.5;

/// Lays all parts of `channels` into a loop of `frames` frames, each bin of each
/// frame multiplied by its `gains` (one a bin, or none).
pub(crate) fn render(
    channels: &[Vec<f64>],
    parts: &Parts,
    frames: usize,
    rate_hz: f64,
    gains: &[f64],
) -> Vec<Vec<f64>> {
    let mut vocoder = Vocoder::new(channels, window_frames(rate_hz), gains);
    let mut output = vec![vec![0.0; frames]; channels.len()];
    for part in &parts.parts {
        vocoder.lay(parts, part, &mut output);
    }
    output
}

/// The length of the frames at a sample rate, a power of two.
pub(crate) fn window_frames(rate_hz: f64) -> usize {
    let exponent = libm::log2(WINDOW_S * rate_hz).round().max(6.0);
    1 << exponent as usize
}

struct Vocoder<'a> {
    channels: &'a [Vec<f64>],
    gains: &'a [f64],
    window: Vec<f64>,
    forward: Arc<dyn RealToComplex<f64>>,
    inverse: Arc<dyn ComplexToReal<f64>>,
    spectra: Vec<Vec<Complex<f64>>>,
    before: Vec<Vec<Complex<f64>>>,
    power: Vec<f64>,
    power_before: Vec<f64>,
    /// By how much each bin is turned, in radians.
    turn: Vec<f64>,
    frame: Vec<f64>,
    /// Where the last frame stood: input, output.
    last: Option<(i64, i64)>,
}

/// What a part has gathered: its sound by channel and the weight of the frames.
struct Gathered {
    from: i64,
    sound: Vec<Vec<f64>>,
    weight: Vec<f64>,
}

impl<'a> Vocoder<'a> {
    fn new(channels: &'a [Vec<f64>], length: usize, gains: &'a [f64]) -> Self {
        let mut planner = RealFftPlanner::new();
        let bins = length / 2 + 1;
        let silent = vec![vec![Complex::new(0.0, 0.0); bins]; channels.len()];
        Self {
            channels,
            gains,
            window: (0..length)
                .map(|n| 0.5 - 0.5 * libm::cos(TAU * n as f64 / length as f64))
                .collect(),
            forward: planner.plan_fft_forward(length),
            inverse: planner.plan_fft_inverse(length),
            spectra: silent.clone(),
            before: silent,
            power: vec![0.0; bins],
            power_before: vec![0.0; bins],
            turn: vec![0.0; bins],
            frame: vec![0.0; length],
            last: None,
        }
    }

    /// Lays one part into the loop; places past its ends go round.
    fn lay(&mut self, parts: &Parts, part: &Part, output: &mut [Vec<f64>]) {
        let from = part.output.0 - part.fade_in;
        let length = (part.output.1 - from).max(0) as usize;
        let mut gathered = Gathered {
            from,
            sound: vec![vec![0.0; length]; self.channels.len()],
            weight: vec![0.0; length],
        };
        let hop = (self.window.len() / OVERLAP) as i64;
        let steps = ((part.output.1 - part.output.0 + hop - 1) / hop).max(1);
        for step in 0..=steps {
            let place = part.output.0 + (part.output.1 - part.output.0) * step / steps;
            let at = (parts.input_at(part, place), place);
            self.analyse(part, at.0);
            self.turn_peaks(at, step == 0);
            self.gather(part, at, &mut gathered);
            self.last = Some(at);
        }
        for (channel, sound) in output.iter_mut().zip(&gathered.sound) {
            let frames = channel.len() as i64;
            for (n, (value, weight)) in sound.iter().zip(&gathered.weight).enumerate() {
                let place = from + n as i64;
                let gate = fade(place - from, part.fade_in) * fade_out(part, part.output.1, place);
                if let Some(out) = channel.get_mut(place.rem_euclid(frames) as usize) {
                    *out += gate * value / weight.max(1e-6);
                }
            }
        }
    }

    /// Spectra of a frame around `place`, of the part's own sound alone.
    fn analyse(&mut self, part: &Part, place: i64) {
        std::mem::swap(&mut self.spectra, &mut self.before);
        std::mem::swap(&mut self.power, &mut self.power_before);
        self.power.fill(0.0);
        let half = self.window.len() / 2;
        for (channel, spectrum) in self.channels.iter().zip(&mut self.spectra) {
            for (n, (value, window)) in self.frame.iter_mut().zip(rotated(&self.window)).enumerate()
            {
                // The middle of the frame comes first: phases are those at `place`.
                let offset = if n < half {
                    n as i64
                } else {
                    n as i64 - 2 * half as i64
                };
                let sound = usize::try_from(place + offset)
                    .ok()
                    .and_then(|index| channel.get(index))
                    .copied()
                    .unwrap_or(0.0);
                *value = sound * window * heard(part, place + offset);
            }
            // The lengths are the plan's own, so this cannot fail.
            let _ = self.forward.process(&mut self.frame, spectrum);
            for (power, value) in self.power.iter_mut().zip(spectrum.iter()) {
                *power += value.norm_sqr();
            }
        }
    }

    /// Finds how far each bin is turned in the frame `at`.
    fn turn_peaks(&mut self, at: (i64, i64), begins: bool) {
        let Some(last) = self.last else { return };
        let (input, output) = ((at.0 - last.0) as f64, (at.1 - last.1) as f64);
        if !begins && input == output {
            return;
        }
        let turn_before = self.turn.clone();
        let bins = self.power.len();
        let mut from = 0;
        let peaks = peaks(&self.power);
        for (index, &peak) in peaks.iter().enumerate() {
            let to = match peaks.get(index + 1) {
                Some(&next) => lowest(&self.power, peak, next),
                None => bins,
            };
            let old = turn_before.get(peak).copied().unwrap_or(0.0);
            let turn = match begins {
                true if self.goes_on(peak) => old,
                true => 0.0,
                false => old + self.frequency(peak, input) * (output - input),
            };
            if let Some(region) = self.turn.get_mut(from..to) {
                region.fill(turn);
            }
            from = to;
        }
    }

    /// Whether what sounds at a peak sounded before the onset.
    fn goes_on(&self, peak: usize) -> bool {
        let around = peak.saturating_sub(1)..(peak + 2).min(self.power.len());
        let before = self
            .power_before
            .get(around)
            .unwrap_or(&[])
            .iter()
            .copied()
            .fold(0.0, f64::max);
        before >= GOES_ON * self.power.get(peak).copied().unwrap_or(0.0)
    }

    /// The frequency at a peak in radians a frame, from how its phase moved in all
    /// channels since the last frame, `hop` frames before.
    fn frequency(&self, peak: usize, hop: f64) -> f64 {
        let middle = PI * peak as f64 / (self.power.len() - 1) as f64;
        if hop < 1.0 {
            return middle;
        }
        let moved: Complex<f64> = self
            .spectra
            .iter()
            .zip(&self.before)
            .filter_map(|(now, before)| Some(now.get(peak)? * before.get(peak)?.conj()))
            .sum();
        let off = libm::atan2(moved.im, moved.re) - middle * hop;
        middle + (off - TAU * (off / TAU).round()) / hop
    }

    /// Adds the turned frame to what the part has gathered.
    fn gather(&mut self, part: &Part, at: (i64, i64), gathered: &mut Gathered) {
        let half = (self.window.len() / 2) as i64;
        let scale = 1.0 / self.window.len() as f64;
        let first = at.1 - half;
        let skip = (gathered.from - first).max(0) as usize;
        let start = (first - gathered.from).max(0) as usize;
        let (sine, cosine): (Vec<f64>, Vec<f64>) =
            self.turn.iter().map(|&turn| libm::sincos(turn)).unzip();
        for (spectrum, sound) in self.spectra.iter().zip(&mut gathered.sound) {
            let mut turned = spectrum.clone();
            for (bin, value) in turned.iter_mut().enumerate() {
                let gain = self.gains.get(bin).copied().unwrap_or(1.0) * scale;
                *value *= Complex::new(cosine[bin] * gain, sine[bin] * gain);
            }
            // A real signal has no phase at 0 Hz and at Nyquist.
            for edge in [0, turned.len() - 1] {
                turned[edge] = Complex::new(spectrum[edge].re * scale, 0.0);
            }
            let _ = self.inverse.process(&mut turned, &mut self.frame);
            let values = rotated(&self.frame).zip(&self.window).skip(skip);
            for (out, (value, window)) in sound.iter_mut().skip(start).zip(values) {
                *out += value * window;
            }
        }
        for (n, (out, window)) in gathered
            .weight
            .iter_mut()
            .skip(start)
            .zip(self.window.iter().skip(skip))
            .enumerate()
        {
            *out += window * window * heard(part, at.0 - half + (skip + n) as i64);
        }
    }
}

/// How much of `place` (in the input) a part hears: its own sound alone.
fn heard(part: &Part, place: i64) -> f64 {
    fade(place - part.input.0 + part.fade_in, part.fade_in) * fade_out(part, part.input.1, place)
}

/// 0 at 0 and below, 1 from `length` on.
fn fade(place: i64, length: i64) -> f64 {
    match place {
        _ if place <= 0 => 0.0,
        _ if place >= length => 1.0,
        _ => 0.5 - 0.5 * libm::cos(PI * place as f64 / length as f64),
    }
}

/// 1 until the part fades out, 0 from its `end` on.
fn fade_out(part: &Part, end: i64, place: i64) -> f64 {
    1.0 - fade(place - end + part.fade_out, part.fade_out)
}

/// The second half first.
fn rotated(values: &[f64]) -> impl Iterator<Item = &f64> {
    let (first, second) = values.split_at(values.len() / 2);
    second.iter().chain(first)
}

/// Bins higher than two neighbours to each side; at least one.
fn peaks(power: &[f64]) -> Vec<usize> {
    let found: Vec<usize> = power
        .windows(5)
        .enumerate()
        .filter(|(_, near)| {
            near[2] > near[0] && near[2] > near[1] && near[2] >= near[3] && near[2] >= near[4]
        })
        .map(|(index, _)| index + 2)
        .collect();
    if found.is_empty() {
        vec![power.len() / 2]
    } else {
        found
    }
}

/// The lowest bin between two peaks.
fn lowest(power: &[f64], low: usize, high: usize) -> usize {
    (low + 1..high)
        .min_by(|&a, &b| {
            let value = |bin: usize| power.get(bin).copied().unwrap_or(0.0);
            value(a).total_cmp(&value(b))
        })
        .unwrap_or(high)
}
