//! Mains hum in the pauses.
//!
//! The quietest stretches of 0.7 s are kept as spectra. Where they lie well below the
//! sound and hold lines at 50 or 60 Hz and their multiples, all at their places to a
//! few tenths of a hertz and equally strong in every pause, that is hum. A bass note
//! near 49 or 61.7 Hz misses the places, and it dies away.

use cupel_units::power_to_db;
use realfft::{RealFftPlanner, RealToComplex};
use std::sync::Arc;

use crate::median::{Histogram, median};
use crate::traits::Hum;

/// Frames of a stretch at the low rate (about 1.5 kHz), and from one to the next.
const WINDOW: usize = 1024;
const HOP: usize = 256;
/// Parts of a stretch; the loudest tells whether it is a pause.
const PARTS: usize = 16;
/// Spectra kept.
const KEPT: usize = 12;
/// Stretches needed.
const FEWEST: usize = 2;
/// Quieter than this is silence: -95 dBFS.
const SILENCE: f64 = 3.2e-10;
/// A pause lies this far below the loudest stretch, as a power.
const PAUSE: f64 = 0.03;
/// Multiples looked at.
const MULTIPLES: usize = 10;
/// A line stands out of what lies beside it by this.
const STANDS_OUT_DB: f64 = 9.0;
/// Lines needed.
const FEWEST_LINES: usize = 3;
/// Pauses whose lines differ by more are no steady hum, nor are those that fall by
/// more, dB.
const STEADY_DB: f64 = 3.0;
const FALL_DB: f64 = 2.0;

/// One stretch.
#[derive(Clone, Debug)]
struct Stretch {
    at: u64,
    /// Power of its loudest part.
    power: f64,
    /// How far its end lies below its start, dB.
    fall_db: f64,
    spectrum: Vec<f32>,
}

/// Keeps the quietest stretches of a file.
pub(crate) struct HumFinder {
    rate_hz: f64,
    fft: Arc<dyn RealToComplex<f64>>,
    window: Vec<f64>,
    past: Vec<f64>,
    taken: u64,
    loudest: f64,
    levels: Histogram,
    kept: Vec<Stretch>,
}

impl HumFinder {
    pub(crate) fn new(rate_hz: f64) -> Self {
        let turn = std::f64::consts::TAU / WINDOW as f64;
        let window = (0..WINDOW).map(|n| 0.5 - 0.5 * libm::cos(turn * n as f64));
        Self {
            rate_hz,
            fft: RealFftPlanner::new().plan_fft_forward(WINDOW),
            window: window.collect(),
            past: Vec::with_capacity(2 * WINDOW),
            taken: 0,
            loudest: 0.0,
            levels: Histogram::new(1.0, 120),
            kept: Vec::new(),
        }
    }

    /// Takes the sound at the low rate.
    pub(crate) fn take(&mut self, slow: &[f64]) {
        self.past.extend_from_slice(slow);
        let mut from = 0;
        while self.past.len() - from >= WINDOW {
            self.look(from);
            self.taken += HOP as u64;
            from += HOP;
        }
        self.past.drain(..from);
    }

    fn look(&mut self, from: usize) {
        let stretch = &self.past[from..from + WINDOW];
        let part = WINDOW / PARTS;
        let power = |part: &[f64]| part.iter().map(|x| x * x).sum::<f64>() / part.len() as f64;
        let mut powers = [0.0; PARTS];
        for (place, part) in powers.iter_mut().zip(stretch.chunks_exact(part)) {
            *place = power(part);
        }
        let highest = powers.iter().copied().fold(0.0, f64::max);
        self.loudest = self.loudest.max(highest);
        if highest < SILENCE {
            return;
        }
        self.levels.add(power_to_db(highest) + 110.0);
        let full = self.kept.len() == KEPT;
        if full && self.kept.last().is_some_and(|last| last.power <= highest) {
            return;
        }
        let mut windowed: Vec<f64> = stretch
            .iter()
            .zip(&self.window)
            .map(|(x, w)| x * w)
            .collect();
        let mut spectrum = self.fft.make_output_vec();
        if self.fft.process(&mut windowed, &mut spectrum).is_err() {
            return;
        }
        // The window has a mean square of 3/8; both halves of the spectrum count.
        let scale = 2.0 / (0.375 * (WINDOW * WINDOW) as f64);
        let spectrum = spectrum
            .iter()
            .map(|bin| (scale * bin.norm_sqr()) as f32)
            .collect();
        let place = self.kept.partition_point(|kept| kept.power <= highest);
        self.kept.truncate(KEPT - 1);
        let mean = |parts: &[f64]| parts.iter().sum::<f64>() + SILENCE;
        let stretch = Stretch {
            at: self.taken,
            power: highest,
            fall_db: power_to_db(mean(&powers[..PARTS / 4]) / mean(&powers[3 * PARTS / 4..])),
            spectrum,
        };
        self.kept.insert(place.min(self.kept.len()), stretch);
    }

    /// The hum, where there is one.
    pub(crate) fn finish(self) -> Option<Hum> {
        let limit = PAUSE * self.loudest;
        let pauses: Vec<&Stretch> = self.kept.iter().filter(|kept| kept.power < limit).collect();
        if pauses.len() < FEWEST {
            return None;
        }
        let bins = pauses[0].spectrum.len();
        let mean = |bin: usize| {
            pauses
                .iter()
                .map(|pause| f64::from(pause.spectrum[bin]))
                .sum::<f64>()
                / pauses.len() as f64
        };
        let spectrum: Vec<f64> = (0..bins).map(mean).collect();
        let found = [50.0, 60.0].map(|mains_hz| self.lines(&spectrum, mains_hz));
        let [at_50, at_60] = found;
        let stronger = |a: &Lines, b: &Lines| a.power >= b.power;
        let lines = match (at_50, at_60) {
            (Some(a), Some(b)) => {
                if stronger(&a, &b) {
                    a
                } else {
                    b
                }
            }
            (a, b) => a.or(b)?,
        };
        if !self.is_steady(&pauses, &lines) {
            return None;
        }
        let quiet = self.levels.below(power_to_db(limit) + 110.0);
        let longest = pauses.iter().min_by_key(|pause| pause.at)?;
        Some(Hum {
            mains_hz: lines.mains_hz,
            level_dbfs: power_to_db(lines.power),
            above_db: power_to_db(lines.power / lines.beside.max(1e-15)).min(60.0),
            harmonics: lines
                .multiples
                .iter()
                .filter(|&&multiple| multiple > 1)
                .count(),
            pauses_s: (f64::from(quiet) * HOP as f64) / self.rate_hz,
            at_s: longest.at as f64 / self.rate_hz,
        })
    }

    /// Lines at mains and multiples; `None` where there are too few.
    fn lines(&self, spectrum: &[f64], mains_hz: f64) -> Option<Lines> {
        let bin_hz = self.rate_hz / WINDOW as f64;
        let mut lines = Lines {
            mains_hz,
            multiples: Vec::new(),
            power: 0.0,
            beside: 0.0,
        };
        for multiple in 1..=MULTIPLES {
            let hz = mains_hz * multiple as f64;
            let middle = libm::round(hz / bin_hz) as usize;
            let near = libm::round(9.0 / bin_hz) as usize;
            let far = libm::round(22.0 / bin_hz) as usize;
            if middle + far >= spectrum.len() || middle <= far {
                continue;
            }
            let top =
                (middle - 2..=middle + 2).max_by(|&a, &b| spectrum[a].total_cmp(&spectrum[b]))?;
            let beside: Vec<f64> = (middle - far..=middle - near)
                .chain(middle + near..=middle + far)
                .map(|bin| spectrum[bin])
                .collect();
            let power: f64 = spectrum[top - 2..=top + 2].iter().sum();
            let beside = 5.0 * median(beside)?;
            let away_hz = (peak_bin(spectrum, top) * bin_hz - hz).abs();
            let in_place = away_hz <= 0.4 + 0.12 * multiple as f64;
            if in_place && power_to_db(power / beside.max(1e-15)) >= STANDS_OUT_DB {
                lines.multiples.push(multiple);
                lines.power += power;
                lines.beside += beside;
            }
        }
        let low = lines.multiples.iter().any(|&multiple| multiple <= 2);
        (low && lines.multiples.len() >= FEWEST_LINES).then_some(lines)
    }

    /// Whether the lines are as strong in every pause.
    fn is_steady(&self, pauses: &[&Stretch], lines: &Lines) -> bool {
        let bin_hz = self.rate_hz / WINDOW as f64;
        let level = |pause: &&Stretch| {
            let line = |&multiple: &usize| {
                let bin = libm::round(lines.mains_hz * multiple as f64 / bin_hz) as usize;
                pause.spectrum[bin - 2..=bin + 2]
                    .iter()
                    .map(|&p| f64::from(p))
                    .sum::<f64>()
            };
            power_to_db(lines.multiples.iter().map(line).sum::<f64>().max(1e-15))
        };
        let levels: Vec<f64> = pauses.iter().map(level).collect();
        let Some(middle) = median(levels.clone()) else {
            return false;
        };
        let away = levels.iter().map(|level| (level - middle).abs()).collect();
        let falls = pauses.iter().map(|pause| pause.fall_db.abs()).collect();
        median(away).is_some_and(|away| away <= STEADY_DB)
            && median(falls).is_some_and(|fall| fall <= FALL_DB)
    }
}

/// Lines found.
struct Lines {
    mains_hz: f64,
    multiples: Vec<usize>,
    power: f64,
    beside: f64,
}

/// Place of a maximum between bins, from a parabola through the levels.
fn peak_bin(spectrum: &[f64], top: usize) -> f64 {
    let level = |bin: usize| power_to_db(spectrum[bin].max(1e-30));
    let (left, middle, right) = (level(top - 1), level(top), level(top + 1));
    let bend = left - 2.0 * middle + right;
    let shift = if bend < 0.0 {
        0.5 * (left - right) / bend
    } else {
        0.0
    };
    top as f64 + shift.clamp(-1.0, 1.0)
}
