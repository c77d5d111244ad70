//! Sounds of the benchmark material: simple, but struck in time, tuned, and with
//! the spectra and dynamics of music.

use std::f64::consts::TAU;

/// Rate of all material, in hertz.
pub(crate) const SAMPLE_RATE_HZ: u32 = 48_000;

/// Frames of a sixteenth note at 124 beats a minute.
const STEP_FRAMES: u64 = (SAMPLE_RATE_HZ as u64 * 60) / (124 * 4);

/// Steps after which a sound comes in or stays out: eight bars.
const SECTION_STEPS: u64 = 128;

/// Notes of the tune, in semitones, one for each half bar.
const NOTES: [i32; 8] = [0, 0, 3, 5, -2, -2, 7, 5];

/// A kind of sound.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sound {
    /// Name of its track.
    pub name: &'static str,
    /// Steps from one stroke to the next, and to the first of the first seed.
    every: u64,
    first: u64,
    /// Lowest tone, in hertz; 0 for none.
    tone_hz: f64,
    /// Share of noise.
    noise: f64,
    /// Time in which a stroke falls by 60 dB, in seconds.
    decay_s: f64,
    /// Tone that falls from four times its pitch, as a drum's does.
    falls: bool,
    /// Smoothing, 0 to 1; 1 is none. Negative: what smoothing takes away is kept.
    bright: f64,
    /// Peak, linear.
    peak: f64,
}

macro_rules! sounds {
    ($($name:literal $every:literal $first:literal $tone:literal $noise:literal $decay:literal
       $falls:literal $bright:literal $peak:literal;)+) => {
        &[$(Sound {
            name: $name, every: $every, first: $first, tone_hz: $tone, noise: $noise,
            decay_s: $decay, falls: $falls, bright: $bright, peak: $peak,
        },)+]
    };
}

/// name, every, first, tone, noise, decay, falls, bright, peak
pub(crate) const SOUNDS: &[Sound] = sounds! {
    "kick"   4  0  49.0 0.02 0.35 true  0.5  0.5;
    "bass"   2  1  55.0 0.0  0.30 false 0.08 0.3;
    "chords" 8  3 220.0 0.0  0.90 false 0.2  0.15;
    "hat"    2  1   0.0 1.0  0.08 false -0.5 0.1;
    "clap"   8  4   0.0 1.0  0.25 false 0.4  0.2;
    "sub"    4  2  41.2 0.0  0.60 false 0.02 0.3;
    "shaker" 1  0   0.0 1.0  0.05 false -0.3 0.06;
    "pad"   16  0 164.8 0.01 4.00 false 0.1  0.1;
    "lead"   3  0 440.0 0.0  0.40 false 0.3  0.12;
    "tom"   16 11  92.0 0.05 0.40 true  0.4  0.2;
    "piano"  6  2 261.6 0.0  1.20 false 0.25 0.12;
    "noise" 64  0   0.0 1.0  6.00 false 0.1  0.08;
};

/// A sound at play: gives stereo samples in order.
#[derive(Clone, Debug)]
pub(crate) struct Voice {
    sound: Sound,
    seed: u64,
    random: u64,
    frame: u64,
    step: u64,
    envelope: f64,
    fall: f64,
    phases: [f64; 3],
    cycles: [f64; 3],
    smoothed: [f64; 2],
}

impl Voice {
    /// A voice; each `seed` plays the sound differently.
    pub(crate) fn new(sound: Sound, seed: u64) -> Self {
        Self {
            sound,
            seed,
            random: mixed(seed.wrapping_add(1)) | 1,
            frame: 0,
            step: 0,
            envelope: 0.0,
            fall: (-6.9 / (sound.decay_s * f64::from(SAMPLE_RATE_HZ))).exp(),
            phases: [0.0; 3],
            cycles: [0.0; 3],
            smoothed: [0.0; 2],
        }
    }

    /// Adds the next samples, times `gain`.
    pub(crate) fn add(&mut self, left: &mut [f64], right: &mut [f64], gain: f64) {
        for (l, r) in left.iter_mut().zip(right) {
            if self.frame.is_multiple_of(STEP_FRAMES) {
                self.strike();
            }
            self.frame += 1;
            let [a, b] = self.next();
            *l += gain * a;
            *r += gain * b;
        }
    }

    fn strike(&mut self) {
        let step = self.step;
        self.step += 1;
        let section = step / SECTION_STEPS;
        let plays = section == 0 || !mixed(self.seed ^ (section << 20)).is_multiple_of(4);
        let first = (self.sound.first + self.seed % 3) % self.sound.every;
        if !plays || step % self.sound.every != first {
            return;
        }
        let accent = (mixed(self.seed ^ step) % 100) as f64 / 300.0;
        self.envelope = self.sound.peak * (0.65 + accent);
        let note = NOTES[(step / 8) as usize % NOTES.len()];
        let semitones = if self.sound.falls { 0 } else { note } + (self.seed % 5) as i32;
        let pitch_hz = self.sound.tone_hz * 2f64.powf(f64::from(semitones) / 12.0);
        let thirds = [1.0, 1.498 + self.seed as f64 * 1e-4, 2.003];
        for (cycles, times) in self.cycles.iter_mut().zip(thirds) {
            *cycles = pitch_hz * times / f64::from(SAMPLE_RATE_HZ);
        }
        if self.sound.falls {
            self.phases = [0.0; 3];
        }
    }

    fn next(&mut self) -> [f64; 2] {
        self.envelope *= self.fall;
        let level = self.envelope;
        let mut pair = if self.sound.falls {
            let relative = level / self.sound.peak;
            self.phases[0] += self.cycles[0] * (1.0 + 3.0 * relative * relative * relative);
            let tone = (TAU * self.phases[0].fract()).sin();
            [tone, tone]
        } else if self.sound.tone_hz > 0.0 {
            for (phase, cycles) in self.phases.iter_mut().zip(self.cycles) {
                *phase = (*phase + cycles).fract();
            }
            let [a, b, c] = self.phases.map(|phase| 2.0 * phase - 1.0);
            [0.5 * a + 0.5 * b, 0.5 * a + 0.5 * c]
        } else {
            [0.0; 2]
        };
        if self.sound.noise > 0.0 {
            let (common, apart) = (self.noise(), self.noise());
            pair[0] += self.sound.noise * (0.7 * common + 0.3 * apart);
            pair[1] += self.sound.noise * (0.7 * common - 0.3 * apart);
        }
        let bright = self.sound.bright;
        for (sample, smooth) in pair.iter_mut().zip(&mut self.smoothed) {
            *smooth += bright.abs() * (*sample - *smooth);
            *sample = level
                * if bright < 0.0 {
                    *sample - *smooth
                } else {
                    *smooth
                };
        }
        pair
    }

    /// White noise from -1 to 1 (G. Marsaglia, Xorshift RNGs, 2003, 13-7-17).
    fn noise(&mut self) -> f64 {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 7;
        self.random ^= self.random << 17;
        (self.random >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

/// A number that looks random (S. Vigna, SplitMix64, public domain).
fn mixed(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
