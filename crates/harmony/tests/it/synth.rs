//! Sounds with known pitches.

use cupel_harmony::{HarmonyFrames, HarmonyMeter, KickFrames, KickMeter};

pub const RATE_HZ: u32 = 48_000;

/// Equal temperament on A4 = 440 Hz, ISO 16.
pub fn note_hz(midi: f64) -> f64 {
    440.0 * ((midi - 69.0) / 12.0).exp2()
}

/// Numbers between -1 and 1: xorshift.
pub struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

/// Adds a note with six overtones and soft ends.
pub fn add_note(signal: &mut [f64], start_s: f64, end_s: f64, midi: f64, gain: f64) {
    let rate = f64::from(RATE_HZ);
    let (from, to) = ((start_s * rate) as usize, (end_s * rate) as usize);
    for n in from..to.min(signal.len()) {
        let t = (n - from) as f64 / rate;
        let left = (to - n) as f64 / rate;
        let shape = (t / 0.005).min(left / 0.015).min(1.0) * (-1.5 * t).exp();
        for h in 1..=6 {
            let h = f64::from(h);
            let phase = std::f64::consts::TAU * note_hz(midi) * h * t;
            signal[n] += gain * shape * phase.sin() / (h * h);
        }
    }
}

pub fn hear(left: &[f64], right: &[f64], block: usize) -> (HarmonyFrames, KickFrames) {
    let mut harmony = HarmonyMeter::new(RATE_HZ, 2);
    let mut kick = KickMeter::new(RATE_HZ, 2);
    for (l, r) in left.chunks(block).zip(right.chunks(block)) {
        harmony.push(&[l, r]);
        kick.push(&[l, r]);
    }
    (harmony.finish(), kick.finish())
}

/// Adds a kick: a sine that falls from `start_hz` to `end_hz`.
pub fn add_kick(signal: &mut [f64], at_s: f64, (start_hz, end_hz): (f64, f64), tau_s: f64) {
    let rate = f64::from(RATE_HZ);
    let from = (at_s * rate) as usize;
    let mut phase = 0.0f64;
    for (n, x) in signal.iter_mut().skip(from).take(14_400).enumerate() {
        let t = n as f64 / rate;
        let hz = end_hz + (start_hz - end_hz) * (-t / tau_s).exp();
        phase += std::f64::consts::TAU * hz / rate;
        *x += 0.8 * phase.sin() * (-(t - 0.04).max(0.0) / 0.08).exp();
    }
}

/// Adds a noise that dies away, as a snare or a hat does.
pub fn add_burst(signal: &mut [f64], at_s: f64, decay_s: f64, gain: f64, noise: &mut Noise) {
    let rate = f64::from(RATE_HZ);
    let from = (at_s * rate) as usize;
    for (n, x) in signal.iter_mut().skip(from).take(14_400).enumerate() {
        *x += gain * noise.next() * (-(n as f64) / (decay_s * rate)).exp();
    }
}
