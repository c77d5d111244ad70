//! Makes the reference as loud as a record: gain, soft clipping, limiter.

use std::collections::VecDeque;

use rayon::prelude::*;

use crate::loudness::Loudness;
use crate::sound::saturate;

/// No sample of a reference passes this.
const CEILING_LINEAR: f64 = 0.87;
/// Above this the clipper bends.
const KNEE_LINEAR: f64 = 0.55;
const LOOK_AHEAD_S: f64 = 0.003;
const RELEASE_S: f64 = 0.09;

/// Stereo mix in, master out, at `target_lufs` within about 0.1 LU. Gives the
/// loudness reached.
pub(crate) fn master(
    mix: &mut [Vec<f64>; 2],
    target_lufs: f64,
    sample_rate_hz: f64,
) -> Option<f64> {
    let before = loudness(mix, sample_rate_hz)?;
    // the first guess allows for what clipping takes away
    let mut gain_db = target_lufs - before + 1.0;
    for step_db in [2.0, 0.4] {
        let tries = [gain_db - step_db, gain_db + step_db];
        let reached: Vec<f64> = tries
            .par_iter()
            .filter_map(|&gain_db| {
                let mut copy = mix.clone();
                limit(&mut copy, gain_db, sample_rate_hz);
                loudness(&copy, sample_rate_hz)
            })
            .collect();
        let [low, high] = reached[..] else {
            return None;
        };
        let slope = ((high - low) / (2.0 * step_db)).max(0.1);
        gain_db = tries[0] + (target_lufs - low) / slope;
    }
    limit(mix, gain_db, sample_rate_hz);
    loudness(mix, sample_rate_hz)
}

/// The same in one go: `target_lufs` within a decibel or two.
pub(crate) fn master_about(mix: &mut [Vec<f64>; 2], target_lufs: f64, sample_rate_hz: f64) {
    if let Some(before) = loudness(mix, sample_rate_hz) {
        limit(mix, target_lufs - before + 1.0, sample_rate_hz);
    }
}

fn loudness(mix: &[Vec<f64>; 2], sample_rate_hz: f64) -> Option<f64> {
    let mut meter = Loudness::new(sample_rate_hz);
    meter.push(&mix[0], &mix[1]);
    meter.integrated_lufs()
}

/// Gain, clipper and look-ahead limiter in place, without delay.
fn limit(mix: &mut [Vec<f64>; 2], gain_db: f64, sample_rate_hz: f64) {
    let gain = libm::pow(10.0, gain_db / 20.0);
    for channel in mix.iter_mut() {
        channel.iter_mut().for_each(|x| *x = bend(gain * *x));
    }
    let ahead = (LOOK_AHEAD_S * sample_rate_hz) as usize;
    let gains = gain_curve(mix, ahead, sample_rate_hz);
    for channel in mix.iter_mut() {
        for (sample, gain) in channel.iter_mut().zip(&gains) {
            *sample = (*sample * gain).clamp(-CEILING_LINEAR, CEILING_LINEAR);
        }
    }
}

/// Soft clipper: straight to the knee, then bends towards 2.4 times the rest.
fn bend(x: f64) -> f64 {
    let size = x.abs();
    if size <= KNEE_LINEAR {
        return x;
    }
    let room = 1.0 - KNEE_LINEAR;
    let bent = KNEE_LINEAR + 1.6 * room * saturate((size - KNEE_LINEAR) / (1.6 * room));
    bent.copysign(x)
}

/// Smallest gain needed in a window about each frame, recovering slowly, then
/// averaged over the window: it never exceeds what the frame needs.
fn gain_curve(mix: &[Vec<f64>; 2], ahead: usize, sample_rate_hz: f64) -> Vec<f64> {
    let frames = mix[0].len();
    let release = 1.0 - libm::exp(-1.0 / (RELEASE_S * sample_rate_hz));
    let window = 2 * ahead + 1;
    let mut lowest: VecDeque<(usize, f64)> = VecDeque::new();
    let mut held = vec![1.0; frames];
    let mut level = 1.0;
    for n in 0..frames + ahead {
        if n < frames {
            let peak = mix[0][n].abs().max(mix[1][n].abs());
            let need = if peak > CEILING_LINEAR {
                CEILING_LINEAR / peak
            } else {
                1.0
            };
            while lowest.back().is_some_and(|&(_, kept)| kept >= need) {
                lowest.pop_back();
            }
            lowest.push_back((n, need));
        }
        if lowest.front().is_some_and(|&(at, _)| at + window <= n) {
            lowest.pop_front();
        }
        if n >= ahead {
            let need = lowest.front().map_or(1.0, |&(_, need)| need);
            level = if need < level {
                need
            } else {
                level + release * (need - level)
            };
            held[n - ahead] = level;
        }
    }
    smooth(&held, ahead)
}

/// Mean over `2 half + 1` frames; the ends repeat.
fn smooth(held: &[f64], half: usize) -> Vec<f64> {
    let last = held.len() - 1;
    let width = (2 * half + 1) as f64;
    let mut sum: f64 = (0..=2 * half)
        .map(|n| held[n.saturating_sub(half).min(last)])
        .sum();
    (0..held.len())
        .map(|n| {
            let mean = sum / width;
            sum += held[(n + half + 1).min(last)] - held[n.saturating_sub(half)];
            mean
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ceiling_holds_and_loudness_is_met() {
        let rate = 44_100.0;
        let wave: Vec<f64> = (0..300_000)
            .map(|n| {
                let t = f64::from(n) / rate;
                let beat = libm::exp(-8.0 * (t % 0.5));
                0.4 * beat * libm::sin(500.0 * t) + 0.08 * libm::sin(3000.0 * t)
            })
            .collect();
        let mut mix = [wave.clone(), wave];
        let reached = master(&mut mix, -9.0, rate).unwrap();
        assert!((reached + 9.0).abs() < 0.3, "{reached}");
        let peak = mix[0].iter().fold(0.0f64, |peak, x| peak.max(x.abs()));
        assert!(peak <= CEILING_LINEAR, "{peak}");
    }
}
