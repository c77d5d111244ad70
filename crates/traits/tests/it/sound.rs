//! Sounds of known truth.

use std::f64::consts::TAU;

use cupel_traits::{TraitMeter, Traits};

pub const RATE_HZ: u32 = 48_000;
pub const RATE: f64 = 48_000.0;

/// Chance from a seed: a multiplicative generator by D. E. Knuth (MMIX).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x1234_5678)
    }

    /// From -1 to 1.
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    /// Near a normal distribution, s.d. 1.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() * 0.5
    }
}

pub fn silence(seconds: f64) -> Vec<f64> {
    vec![0.0; (seconds * RATE) as usize]
}

pub fn traits_of(channels: &[&[f64]]) -> Traits {
    let mut meter = TraitMeter::new(RATE_HZ, channels.len());
    for from in (0..channels[0].len()).step_by(10_000) {
        let to = (from + 10_000).min(channels[0].len());
        let block: Vec<&[f64]> = channels.iter().map(|channel| &channel[from..to]).collect();
        meter.push(&block);
    }
    meter.finish()
}

pub fn add(sound: &mut [f64], at_s: f64, shot: &[f64]) {
    let from = (at_s * RATE).round() as usize;
    for (x, y) in sound.iter_mut().skip(from).zip(shot) {
        *x += y;
    }
}

/// A short noise with a level that falls 60 dB in `rt60_s`.
pub fn snare(rt60_s: f64, chance: &mut Chance) -> Vec<f64> {
    let frames = (1.2 * rt60_s * RATE) as usize;
    let level = |n: usize| 10f64.powf(-3.0 * n as f64 / RATE / rt60_s);
    (0..frames)
        .map(|n| 0.3 * level(n) * chance.normal())
        .collect()
}

/// A sine that drops from 150 to 50 Hz and dies away, with a click of noise.
pub fn kick(rt60_s: f64, chance: &mut Chance) -> Vec<f64> {
    let frames = (1.2 * rt60_s * RATE) as usize;
    let mut phase = 0.0;
    (0..frames)
        .map(|n| {
            let t = n as f64 / RATE;
            phase += TAU * (50.0 + 100.0 * (-t / 0.02).exp()) / RATE;
            let click = 0.2 * (-t / 0.002).exp() * chance.normal();
            // ends as it began, without a step
            let fade = ((frames - n) as f64 / 480.0).min(1.0);
            fade * (0.7 * 10f64.powf(-3.0 * t / rt60_s) * phase.sin() + click)
        })
        .collect()
}

/// `sound` with a room: noise that falls 60 dB in `rt60_s`, its energy `level_db` of
/// the sound's for white sounds.
pub fn in_room(sound: &[f64], rt60_s: f64, level_db: f64, chance: &mut Chance) -> Vec<f64> {
    let frames = (1.1 * rt60_s * RATE) as usize;
    let mut room: Vec<f64> = (0..frames)
        .map(|n| 10f64.powf(-3.0 * n as f64 / RATE / rt60_s) * chance.normal())
        .collect();
    let energy: f64 = room.iter().map(|x| x * x).sum();
    let gain = (10f64.powf(0.1 * level_db) / energy).sqrt();
    room.iter_mut().for_each(|x| *x *= gain);
    let mut both = convolve(sound, &room);
    both.truncate(sound.len());
    both.iter_mut()
        .zip(sound)
        .for_each(|(wet, dry)| *wet += dry);
    both
}

/// By fast Fourier transform of both whole.
pub fn convolve(a: &[f64], b: &[f64]) -> Vec<f64> {
    let length = (a.len() + b.len()).next_power_of_two();
    let mut planner = realfft::RealFftPlanner::new();
    let (forward, back) = (
        planner.plan_fft_forward(length),
        planner.plan_fft_inverse(length),
    );
    let transform = |x: &[f64]| {
        let mut padded = x.to_vec();
        padded.resize(length, 0.0);
        let mut bins = forward.make_output_vec();
        forward.process(&mut padded, &mut bins).unwrap();
        bins
    };
    let mut product: Vec<_> = transform(a)
        .into_iter()
        .zip(transform(b))
        .map(|(x, y)| x * y)
        .collect();
    let mut out = back.make_output_vec();
    back.process(&mut product, &mut out).unwrap();
    out.iter().map(|x| x / length as f64).collect()
}

pub fn sine(hz: f64, amplitude: f64, seconds: f64) -> Vec<f64> {
    let frames = (seconds * RATE) as usize;
    (0..frames)
        .map(|n| amplitude * (TAU * hz * n as f64 / RATE).sin())
        .collect()
}
