//! A stretched loop beside the passage it was made of.
//!
//! Both are given as mono sums from their first downbeats on. Nothing is asked of
//! the loop that the passage itself does not hold: onsets are compared with where
//! the passage has them in its own grid, what sounds before a hit with what sounds
//! before it there.

use crate::prove::spectrum::{cents_apart, power, third_octaves};

/// A passage or a loop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Take<'a> {
    pub samples: &'a [f64],
    pub sample_rate_hz: f64,
    pub tempo_bpm: f64,
}

impl Take<'_> {
    fn sixteenth_s(&self) -> f64 {
        15.0 / self.tempo_bpm
    }

    /// Energy of short steps about a time, from `before_s` before it on.
    fn steps(&self, at_s: f64, before_s: f64, after_s: f64) -> Vec<f64> {
        let frames = STEP_S * self.sample_rate_hz;
        let count = ((before_s + after_s) / STEP_S).round() as usize;
        let first = (at_s - before_s) * self.sample_rate_hz;
        (0..count)
            .map(|step| {
                let from = first + step as f64 * frames;
                self.energy(from, from + frames)
            })
            .collect()
    }

    /// Mean energy of the upper half of the spectrum, roughly: of differences.
    fn energy(&self, from: f64, to: f64) -> f64 {
        let (from, to) = (from.round().max(1.0) as usize, to.round().max(0.0) as usize);
        let to = to.min(self.samples.len());
        if from >= to {
            return 0.0;
        }
        let sum: f64 = (from..to)
            .map(|n| (self.samples[n] - self.samples[n - 1]).powi(2))
            .sum();
        sum / (to - from) as f64
    }
}

const STEP_S: f64 = 0.0005;
/// An onset rises by this much, in dB.
const RISE_DB: f64 = 12.0;
/// How far an onset is looked for.
const NEAR_S: f64 = 0.02;

/// What was read from a loop.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Reading {
    /// How far each strong onset is from its place, in seconds.
    pub onsets_s: Vec<f64>,
    /// Difference from the pitch that was asked for.
    pub cents: Option<f64>,
    /// Largest difference of a third octave, at equal loudness.
    pub third_octave_db: Option<f64>,
    /// Level from 25 to 5 ms before each strong onset below the hit, in dB: where the
    /// passage itself is as loud there, nothing is noted.
    pub before_db: Vec<f64>,
}

/// Compares a loop with its passage, transposed by some semitones.
pub(crate) fn read(passage: &Take<'_>, made: &Take<'_>, semitones: f64) -> Reading {
    let mut reading = Reading::default();
    let slots = (made.samples.len() as f64 / made.sample_rate_hz / made.sixteenth_s()) as usize;
    for slot in 1..slots.saturating_sub(1) {
        let (from_s, to_s) = (
            slot as f64 * passage.sixteenth_s(),
            slot as f64 * made.sixteenth_s(),
        );
        let Some(own_s) = onset(passage, from_s) else {
            continue;
        };
        // an onset that is gone is as far off as was looked
        let found_s = onset(made, to_s).unwrap_or(NEAR_S + own_s);
        reading.onsets_s.push((found_s - own_s).abs());
        let there = before_db(passage, from_s + own_s);
        let here = before_db(made, to_s + found_s);
        if here > there + 1.0 {
            reading.before_db.push(here);
        }
    }
    let (a, b) = (
        power(passage.samples, passage.sample_rate_hz),
        power(made.samples, made.sample_rate_hz),
    );
    reading.cents = cents_apart(&a, &b, 100.0 * semitones);
    if semitones == 0.0 {
        reading.third_octave_db = largest_difference_db(&third_octaves(&a), &third_octaves(&b));
    }
    reading
}

/// Place of the steepest rise near a time, less that time; `None` without a strong
/// one.
fn onset(take: &Take<'_>, at_s: f64) -> Option<f64> {
    const WINDOW: usize = 10;
    let before_s = NEAR_S + WINDOW as f64 * STEP_S;
    let steps = take.steps(at_s, before_s, before_s);
    let db = |range: std::ops::Range<usize>| {
        let mean = steps[range].iter().sum::<f64>() / WINDOW as f64;
        10.0 * (mean + 1e-12).log10()
    };
    let rises = (WINDOW..steps.len() - WINDOW).map(|step| {
        let rise = db(step..step + WINDOW) - db(step - WINDOW..step);
        (step, rise)
    });
    let (step, rise) = rises.max_by(|a, b| a.1.total_cmp(&b.1))?;
    (rise >= RISE_DB).then_some(step as f64 * STEP_S - before_s)
}

/// Loudest 2 ms from 25 to 5 ms before a time beside the loudest of the 15 ms after,
/// in dB.
fn before_db(take: &Take<'_>, at_s: f64) -> f64 {
    let loudest = |steps: Vec<f64>| {
        let sums = steps.windows(4).map(|four| four.iter().sum::<f64>());
        sums.fold(1e-12, f64::max)
    };
    let before = loudest(take.steps(at_s, 0.025, -0.005));
    10.0 * (before / loudest(take.steps(at_s, 0.0, 0.015))).log10()
}

/// After taking out the difference in loudness: the mean over all bands that hold
/// something, those 50 dB below the loudest left out.
fn largest_difference_db(a: &[f64], b: &[f64]) -> Option<f64> {
    let loudest = a.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let differences: Vec<f64> = a
        .iter()
        .zip(b)
        .filter(|(a, _)| **a > loudest - 50.0)
        .map(|(a, b)| b - a)
        .collect();
    let mean = differences.iter().sum::<f64>() / differences.len().max(1) as f64;
    differences
        .iter()
        .map(|difference| (difference - mean).abs())
        .reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;

    /// Clicks with a tail on every beat of eight bars, and a steady chord; all moved by
    /// `late_s`, tuned by `cents`, with an echo before each click.
    fn take(tempo_bpm: f64, late_s: f64, cents: f64, echo: f64, tilt: f64) -> Vec<f64> {
        let beat_s = 60.0 / tempo_bpm;
        let frames = (32.0 * beat_s * RATE) as usize;
        let mut samples: Vec<f64> = (0..frames)
            .map(|n| {
                let turn = std::f64::consts::TAU * n as f64 / RATE * 2f64.powf(cents / 1200.0);
                0.02 * ((220.0 * turn).sin() + (277.18 * turn).sin() + tilt * (1600.0 * turn).sin())
            })
            .collect();
        let mut noise = crate::prove::dice::Dice::new(3);
        for beat in 1..31 {
            let at = ((f64::from(beat) * beat_s + late_s) * RATE) as usize;
            for n in 0..2400 {
                let click = noise.between(-0.5, 0.5) * (-(n as f64) / 480.0).exp();
                samples[at + n] += click;
                samples[at + n - 480] += echo * click;
            }
        }
        samples
    }

    fn reading(late_s: f64, cents: f64, echo: f64, tilt: f64) -> Reading {
        let (source, made) = (
            take(125.0, 0.0, 0.0, 0.0, 1.0),
            take(120.0, late_s, cents, echo, tilt),
        );
        let of = |samples, tempo_bpm| Take {
            samples,
            sample_rate_hz: RATE,
            tempo_bpm,
        };
        read(&of(&source, 125.0), &of(&made, 120.0), 0.0)
    }

    fn worst(values: &[f64]) -> f64 {
        values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    #[test]
    fn a_true_copy_at_another_tempo_passes() {
        let right = reading(0.0, 0.0, 0.0, 1.0);
        assert!(right.onsets_s.len() >= 25, "{}", right.onsets_s.len());
        assert!(
            worst(&right.onsets_s) < 0.0015,
            "{}",
            worst(&right.onsets_s)
        );
        assert!(right.cents.unwrap().abs() < 0.3, "{:?}", right.cents);
        assert!(right.third_octave_db.unwrap() < 0.5, "{right:?}");
        assert!(right.before_db.is_empty(), "{:?}", right.before_db);
    }

    #[test]
    fn each_fault_is_found() {
        let late = reading(0.005, 0.0, 0.0, 1.0);
        assert!(worst(&late.onsets_s) > 0.004);
        let sharp = reading(0.0, 3.0, 0.0, 1.0);
        assert!(
            (sharp.cents.unwrap() - 3.0).abs() < 0.5,
            "{:?}",
            sharp.cents
        );
        let bright = reading(0.0, 0.0, 0.0, 1.3);
        assert!(bright.third_octave_db.unwrap() > 1.0);
        let early = reading(0.0, 0.0, 0.1, 1.0);
        assert!(worst(&early.before_db) > -25.0, "{:?}", early.before_db);
    }
}
