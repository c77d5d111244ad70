//! Kicks and what sounds under them.

use std::ops::Range;

use crate::faults::clean::{Clean, sum_of};
use crate::faults::filter::low_pass;
use crate::faults::sound::{Sound, mean_square};
use crate::prove::dice::Dice;

impl Clean {
    /// The kick's tracks as one.
    pub(crate) fn kick_sum(&self) -> Sound {
        let kicks = self.with_words(&["kick"]);
        sum_of(kicks.iter().map(|&place| &*self.tracks[place].sound))
    }

    /// From every kick to the next one, at most `longest_s`.
    pub(crate) fn hits(&self, longest_s: f64) -> Vec<Range<usize>> {
        let at = |seconds: f64| (seconds * f64::from(self.rate_hz)) as usize;
        let times = &self.kick_times_s;
        let spans = times.iter().enumerate().map(|(n, &from_s)| {
            let next_s = times.get(n + 1).copied().unwrap_or(from_s + longest_s);
            at(from_s)..at(next_s.min(from_s + longest_s))
        });
        let frames = self.tracks.first().map_or(0, |track| track.sound.frames());
        spans
            .filter(|span| span.end <= frames && span.len() > 64)
            .collect()
    }

    /// Hits of the busiest section.
    pub(crate) fn busiest_hits(&self, longest_s: f64) -> Vec<Range<usize>> {
        let busiest = self.busiest();
        let mut hits = self.hits(longest_s);
        hits.retain(|hit| busiest.contains(&hit.start));
        hits
    }
}

/// Lows without any shift in time.
pub(crate) fn lows(sound: &Sound, rate_hz: u32, below_hz: f64) -> Sound {
    let back = |mut sound: Sound| {
        sound.left.reverse();
        sound.right.reverse();
        sound
    };
    let once = back(sound.filtered(&low_pass(rate_hz, below_hz)));
    back(once.filtered(&low_pass(rate_hz, below_hz)))
}

/// The strongest pitch between two frequencies in some stretches together.
pub(crate) fn pitch_hz(
    samples: &[f32],
    rate_hz: u32,
    spans: &[Range<usize>],
    (low_hz, high_hz): (f64, f64),
) -> Option<f64> {
    let steps = (48.0 * (high_hz / low_hz).log2()) as i32;
    let power = |hz: f64| -> f64 {
        let turn = std::f64::consts::TAU * hz / f64::from(rate_hz);
        let of = |span: &Range<usize>| {
            let (mut re, mut im) = (0.0, 0.0);
            for (n, x) in samples[span.clone()].iter().enumerate() {
                let fade = (std::f64::consts::PI * n as f64 / span.len() as f64).sin();
                let (sin, cos) = (turn * n as f64).sin_cos();
                re += fade * f64::from(*x) * cos;
                im += fade * f64::from(*x) * sin;
            }
            re * re + im * im
        };
        spans.iter().map(of).sum()
    };
    let all = (0..=steps).map(|step| low_hz * (f64::from(step) / 48.0).exp2());
    let best = all
        .map(|hz| (hz, power(hz)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    (best.1 > 0.0).then_some(best.0)
}

/// Mean square of one side over some stretches.
pub(crate) fn power_of(samples: &[f32], spans: &[Range<usize>]) -> f64 {
    let powers = spans.iter().map(|span| mean_square(&samples[span.clone()]));
    powers.sum::<f64>() / spans.len().max(1) as f64
}

/// A made kick on every hit: falls from three times its pitch within 40 ms, rests
/// there, and has fallen by 20 dB after `length_s`.
pub(crate) fn made_kick(clean: &Clean, hz: f64, length_s: f64, peak: f64) -> Sound {
    let frames = clean.tracks.first().map_or(0, |track| track.sound.frames());
    let rate = f64::from(clean.rate_hz);
    let mut samples = vec![0.0f32; frames];
    for hit in clean.hits(2.0) {
        let mut turn = 0.0;
        let last = hit.len();
        for (n, sample) in samples[hit].iter_mut().enumerate() {
            let since_s = n as f64 / rate;
            turn += std::f64::consts::TAU * hz * (1.0 + 2.0 * (-since_s / 0.012).exp()) / rate;
            let start = (since_s / 0.001).min(1.0);
            let stop = ((last - n) as f64 / (0.004 * rate)).min(1.0);
            let fall = 10f64.powf(-since_s / length_s);
            *sample = (peak * start * stop * fall * turn.sin()) as f32;
        }
    }
    Sound::new(samples.clone(), samples)
}

/// A note held under so many of the kicks, as a bass plays it: no longer than a quarter
/// of a second, in any phase.
pub(crate) fn held_under(
    clean: &Clean,
    hz: f64,
    height: f64,
    share: f64,
    dice: &mut Dice,
) -> Sound {
    let frames = clean.tracks.first().map_or(0, |track| track.sound.frames());
    let rate = f64::from(clean.rate_hz);
    let mut notes = vec![0.0f32; frames];
    for hit in clean.hits(0.25) {
        if !dice.chance(share) {
            continue;
        }
        let late = dice.between(0.0, std::f64::consts::TAU);
        let last = hit.len();
        for (n, sample) in notes[hit].iter_mut().enumerate() {
            let edge = (n.min(last - n) as f64 / (0.01 * rate)).min(1.0);
            let turn = std::f64::consts::TAU * hz * n as f64 / rate + late;
            *sample = (height * edge * turn.sin()) as f32;
        }
    }
    Sound::new(notes.clone(), notes)
}
