//! Short drum sounds on known places.

use cupel_rhythm::{Grid, OnsetMeter, TempoSettings, find_grid};

pub const RATE_HZ: u32 = 48_000;

/// A pattern: one character a sixteenth, `x` plays.
pub struct Beat {
    pub tempo_bpm: f64,
    pub start_s: f64,
    pub swing: f64,
    pub bars: usize,
    pub kick: &'static str,
    pub snare: &'static str,
    pub hat: &'static str,
    pub bass_by_bar: bool,
}

pub const HOUSE: Beat = Beat {
    tempo_bpm: 124.0,
    start_s: 0.25,
    swing: 0.5,
    bars: 32,
    kick: "x...x...x...x...",
    snare: "....x.......x...",
    hat: "xxxxxxxxxxxxxxxx",
    bass_by_bar: true,
};

pub const BROKEN: Beat = Beat {
    tempo_bpm: 172.0,
    bars: 44,
    kick: "x.........x.....",
    hat: "x.x.x.x.x.x.x.x.",
    ..HOUSE
};

/// Noise with a fixed seed, -1 to 1.
pub fn noise(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1u32 << 30) - 1.0
    }
}

fn add(out: &mut [f64], at_s: f64, sound: &[f64]) {
    let start = (at_s * f64::from(RATE_HZ)).round() as usize;
    for (n, x) in sound.iter().enumerate() {
        if let Some(sample) = out.get_mut(start + n) {
            *sample += x;
        }
    }
}

fn times(seconds: f64) -> impl Iterator<Item = f64> {
    (0..(seconds * f64::from(RATE_HZ)) as usize).map(|n| n as f64 / f64::from(RATE_HZ))
}

pub fn kick() -> Vec<f64> {
    let tau = std::f64::consts::TAU;
    times(0.25)
        .map(|t| {
            let turns = 50.0 * t + 150.0 * 0.02 * (1.0 - (-t / 0.02).exp());
            0.7 * (tau * turns).sin() * (-t / 0.09).exp()
        })
        .collect()
}

/// A burst of noise; `bright` takes the lows away.
pub fn burst(decay_s: f64, level: f64, bright: bool) -> Vec<f64> {
    let mut noise = noise(5);
    let mut last = 0.0;
    times(6.0 * decay_s)
        .map(|t| {
            let x = noise();
            let y = if bright { x - last } else { x };
            last = x;
            level * y * (-t / decay_s).exp()
        })
        .collect()
}

impl Beat {
    pub fn steps(&self) -> usize {
        self.kick.len()
    }

    pub fn beat_s(&self) -> f64 {
        60.0 / self.tempo_bpm
    }

    pub fn bar_s(&self) -> f64 {
        self.beat_s() * self.steps() as f64 / 4.0
    }

    /// Start of a sixteenth, swung.
    fn place_s(&self, bar: usize, step: usize) -> f64 {
        let pair_s = 0.5 * self.beat_s();
        let inside = if step % 2 == 1 { self.swing } else { 0.0 };
        self.start_s + bar as f64 * self.bar_s() + ((step / 2) as f64 + inside) * pair_s
    }

    pub fn samples(&self) -> Vec<f64> {
        let seconds = self.start_s + self.bars as f64 * self.bar_s() + 0.5;
        let mut out = vec![0.0; (seconds * f64::from(RATE_HZ)) as usize];
        let sounds = [
            (self.kick, kick()),
            (self.snare, burst(0.06, 0.35, false)),
            (self.hat, burst(0.015, 0.12, true)),
        ];
        for bar in 0..self.bars {
            for (pattern, sound) in &sounds {
                for (step, play) in pattern.chars().enumerate() {
                    if play == 'x' {
                        add(&mut out, self.place_s(bar, step), sound);
                    }
                }
            }
            if self.bass_by_bar {
                let hz = [110.0, 130.81, 98.0, 146.83][bar % 4];
                // swells in and out: a click at its end would be a hit
                let length_s = 0.95 * self.bar_s();
                let shape = |t: f64| (t / 0.03).min((length_s - t) / 0.1).min(1.0);
                let note: Vec<f64> = times(length_s)
                    .map(|t| 0.15 * (std::f64::consts::TAU * hz * t).sin() * shape(t))
                    .collect();
                add(&mut out, self.place_s(bar, 0), &note);
            }
        }
        out
    }
}

/// The grid of mono samples.
pub fn grid_of(samples: &[f64], settings: &TempoSettings) -> Grid {
    let mut meter = OnsetMeter::new(RATE_HZ, 1);
    for block in samples.chunks(10_000) {
        meter.push(&[block]);
    }
    find_grid(&meter.finish(), settings)
}
