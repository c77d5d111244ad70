//! Passages made of hits, tones and noise, with what is known of them.

use std::f64::consts::TAU;

use cupel_stretch::StretchPlan;

pub const RATE_HZ: u32 = 48_000;

/// White noise of a fixed seed, -1 to 1 (xorshift, Marsaglia 2003).
pub struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

pub fn seconds(frames: usize) -> f64 {
    frames as f64 / f64::from(RATE_HZ)
}

pub fn frame(time_s: f64) -> usize {
    (time_s * f64::from(RATE_HZ)).round() as usize
}

/// Steady tones, each with its own phase.
pub fn tones(frames: usize, tones_hz: &[f64], gain: f64) -> Vec<f64> {
    (0..frames)
        .map(|n| {
            let sum: f64 = tones_hz
                .iter()
                .enumerate()
                .map(|(i, hz)| (TAU * hz * seconds(n) + i as f64).sin())
                .sum();
            gain * sum
        })
        .collect()
}

pub fn bed(frames: usize, gain: f64, seed: u64) -> Vec<f64> {
    let mut noise = Noise(seed);
    (0..frames).map(|_| gain * noise.next()).collect()
}

/// A kick: a falling sine with a click. Starts at `at_s` sharp.
pub fn add_kick(channel: &mut [f64], at_s: f64, gain: f64) {
    let mut phase: f64 = 0.0;
    for (n, value) in channel
        .iter_mut()
        .skip(frame(at_s))
        .take(frame(0.25))
        .enumerate()
    {
        let t = seconds(n);
        phase += TAU * (48.0 + 160.0 * (-t / 0.025).exp()) / f64::from(RATE_HZ);
        *value += gain * (-t / 0.08).exp() * (phase + 1.0).sin();
    }
}

/// A hat: noise that dies away, without lows.
pub fn add_hat(channel: &mut [f64], at_s: f64, gain: f64, seed: u64) {
    let mut noise = Noise(seed);
    let mut last = 0.0;
    for (n, value) in channel
        .iter_mut()
        .skip(frame(at_s))
        .take(frame(0.12))
        .enumerate()
    {
        let new = noise.next();
        *value += gain * (-seconds(n) / 0.02).exp() * (new - last);
        last = new;
    }
}

/// Hits of a pattern: kicks on beats, hats on off-beats, quiet ones on sixteenths.
pub fn hits(channel: &mut [f64], start_s: f64, tempo_bpm: f64, bars: usize) -> Vec<f64> {
    let sixteenth_s = 15.0 / tempo_bpm;
    let mut times = Vec::new();
    for step in 0..16 * bars {
        let at_s = start_s + step as f64 * sixteenth_s;
        match step % 4 {
            0 => add_kick(channel, at_s, 0.6),
            2 => add_hat(channel, at_s, 0.4, 77 + step as u64),
            _ => add_hat(channel, at_s, 0.15, 99 + step as u64),
        }
        times.push(at_s);
    }
    times
}

/// A plan that lays beats of one tempo on another.
pub fn plan(
    start_s: f64,
    tempo_bpm: f64,
    beats: usize,
    new_bpm: f64,
    semitones: f64,
) -> StretchPlan {
    let pair = |beat: usize| {
        let beat = beat as f64 * 60.0;
        (start_s + beat / tempo_bpm, beat / new_bpm)
    };
    StretchPlan {
        anchors: (0..=beats).map(pair).collect(),
        semitones,
        onsets_s: Vec::new(),
    }
}
