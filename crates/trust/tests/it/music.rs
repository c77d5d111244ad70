//! A small seeded session that behaves like music: hits, notes, sustained and
//! rare sounds.

use crate::support::{Sound, Track};

pub const RATE_HZ: u32 = 24_000;
pub const SECONDS: usize = 40;
const BEAT: usize = 11_520;

/// Numbers between -1 and 1, always the same for one seed.
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn next(&mut self) -> f32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 40) as f32) / (1u32 << 23) as f32 - 1.0
    }
}

/// What one hit sounds like.
#[derive(Clone, Copy)]
enum Hit {
    /// Sine that falls in pitch, from the first to the second frequency.
    Drum(f32, f32),
    /// Noise, high-passed by differencing this many times.
    Noise(usize),
    /// Note with overtones of falling level.
    Note(f32),
}

fn hit(kind: Hit, seconds: f32, random: &mut Random) -> Vec<f32> {
    let rate = RATE_HZ as f32;
    let frames = (seconds * rate) as usize;
    let mut samples: Vec<f32> = match kind {
        Hit::Drum(high, low) => {
            let mut phase = 0.0f32;
            (0..frames)
                .map(|n| {
                    let hz = low + (high - low) * (-(n as f32) / (0.03 * rate)).exp();
                    phase += std::f32::consts::TAU * hz / rate;
                    phase.sin()
                })
                .collect()
        }
        Hit::Noise(_) => (0..frames).map(|_| random.next()).collect(),
        Hit::Note(hz) => {
            let phase = random.next() * 3.0;
            (0..frames)
                .map(|n| {
                    let turn = std::f32::consts::TAU * hz * n as f32 / rate + phase;
                    (1..6)
                        .map(|h| (turn * h as f32).sin() / (h * h) as f32)
                        .sum()
                })
                .collect()
        }
    };
    if let Hit::Noise(times) = kind {
        for _ in 0..times {
            for n in (1..frames).rev() {
                samples[n] -= samples[n - 1];
            }
        }
    }
    for (n, sample) in samples.iter_mut().enumerate() {
        let attack = (n as f32 / (0.002 * rate)).min(1.0);
        *sample *= attack * (-4.0 * n as f32 / frames as f32).exp();
    }
    samples
}

struct Part {
    name: &'static str,
    level: f32,
    kind: Hit,
    seconds: f32,
    /// A hit every so many quarters of a beat, the first at this one.
    every: usize,
    first: usize,
    /// First and last second.
    plays: (usize, usize),
    pan: f32,
}

fn part(track: &Part, seed: u64) -> Sound {
    let frames = SECONDS * RATE_HZ as usize;
    let mut random = Random::new(seed);
    let (mut left, mut right) = (vec![0.0; frames], vec![0.0; frames]);
    let mut step = track.first;
    while step * BEAT / 4 < frames {
        let at = step * BEAT / 4;
        let second = at / RATE_HZ as usize;
        if second >= track.plays.0 && second < track.plays.1 {
            let kind = match track.kind {
                Hit::Note(hz) => {
                    let steps = [0.0f32, 3.0, 7.0, 10.0, 12.0];
                    let chosen = ((random.next() + 1.0) * 2.499) as usize;
                    Hit::Note(hz * 2f32.powf(steps[chosen] / 12.0))
                }
                other => other,
            };
            let level = track.level * (1.0 + 0.2 * random.next());
            for (n, sample) in hit(kind, track.seconds, &mut random).iter().enumerate() {
                if at + n < frames {
                    left[at + n] += level * (1.0 - track.pan) * sample;
                    right[at + n] += level * (1.0 + track.pan) * sample;
                }
            }
        }
        step += track.every;
    }
    Sound::new(left, right)
}

/// Fourteen tracks; what plays and how loud depends on the seed only in detail.
pub fn session(seed: u64) -> Vec<Track> {
    let p = |name, level, kind, seconds, every, first, plays, pan| Part {
        name,
        level,
        kind,
        seconds,
        every,
        first,
        plays,
        pan,
    };
    let parts = [
        p(
            "kick",
            0.40,
            Hit::Drum(160.0, 50.0),
            0.25,
            4,
            0,
            (0, 40),
            0.0,
        ),
        p("clap", 0.12, Hit::Noise(1), 0.15, 8, 4, (5, 40), 0.0),
        p("closed hat", 0.03, Hit::Noise(3), 0.05, 1, 1, (0, 35), -0.2),
        p("open hat", 0.03, Hit::Noise(2), 0.2, 4, 2, (8, 36), 0.3),
        p("shaker", 0.02, Hit::Noise(2), 0.08, 2, 1, (3, 38), 0.5),
        p(
            "tom",
            0.15,
            Hit::Drum(220.0, 110.0),
            0.3,
            29,
            13,
            (6, 40),
            -0.4,
        ),
        p(
            "rim",
            0.06,
            Hit::Drum(1800.0, 900.0),
            0.06,
            7,
            3,
            (4, 40),
            0.2,
        ),
        p("bass", 0.16, Hit::Note(55.0), 0.35, 3, 2, (6, 40), 0.0),
        p("chords", 0.06, Hit::Note(220.0), 1.2, 6, 0, (10, 38), 0.1),
        p("pad", 0.04, Hit::Note(330.0), 3.5, 16, 0, (12, 40), -0.1),
        p("piano", 0.06, Hit::Note(440.0), 0.8, 5, 1, (15, 33), 0.2),
        p("lead", 0.08, Hit::Note(660.0), 0.4, 3, 0, (18, 36), 0.0),
        p("voice", 0.09, Hit::Note(290.0), 0.6, 4, 3, (20, 37), 0.0),
        p("effects", 0.10, Hit::Noise(0), 2.5, 64, 30, (0, 40), 0.0),
    ];
    parts
        .iter()
        .enumerate()
        .map(|(index, track)| Track::new(track.name, part(track, seed * 100 + index as u64)))
        .collect()
}

/// Decaying echoes of `sound` without itself: four comb filters a side, after
/// M. R. Schroeder, "Natural sounding artificial reverberation" (1962).
pub fn reverb(sound: &Sound, rate_hz: u32, decay_s: f32) -> Sound {
    let side = |samples: &[f32], detune: f32| -> Vec<f32> {
        let mut wet = vec![0.0; samples.len()];
        for delay_s in [0.0297f32, 0.0371, 0.0411, 0.0437] {
            let delay = (delay_s * detune * rate_hz as f32) as usize;
            let feedback = 10f32.powf(-3.0 * delay_s * detune / decay_s);
            let mut line = vec![0.0f32; samples.len()];
            for n in delay..samples.len() {
                line[n] = samples[n - delay] + feedback * line[n - delay];
                wet[n] += 0.25 * line[n];
            }
        }
        for delay_s in [0.005f32, 0.0017] {
            let delay = (delay_s * detune * rate_hz as f32) as usize;
            let dry = wet.clone();
            for n in delay..wet.len() {
                wet[n] = -0.7 * dry[n] + dry[n - delay] + 0.7 * wet[n - delay];
            }
        }
        wet
    };
    Sound::new(side(&sound.left, 1.0), side(&sound.right, 1.07))
}

/// A limiter: 2 ms look-ahead, 80 ms release, both sides together.
pub fn limiter(sound: &Sound, rate_hz: u32, ceiling: f32) -> Sound {
    let ahead = rate_hz as usize / 500;
    let release = (-1.0 / (0.08 * rate_hz as f32)).exp();
    let wanted: Vec<f32> = (0..sound.len())
        .map(|n| (ceiling / sound.left[n].abs().max(sound.right[n].abs())).min(1.0))
        .collect();
    let mut held = 1.0f32;
    let mut gains = Vec::with_capacity(sound.len());
    for n in 0..sound.len() {
        let end = (n + ahead).min(sound.len());
        let lowest = wanted[n..end].iter().copied().fold(1.0, f32::min);
        held = lowest.min(1.0 + (held - 1.0) * release);
        gains.push(held);
    }
    let smooth = |n: usize| -> f32 {
        let from = (n + 1).saturating_sub(ahead);
        gains[from..=n].iter().sum::<f32>() / (n + 1 - from) as f32
    };
    let smoothed: Vec<f32> = (0..sound.len()).map(smooth).collect();
    let apply = |side: &[f32]| side.iter().zip(&smoothed).map(|(s, g)| s * g).collect();
    Sound::new(apply(&sound.left), apply(&sound.right))
}

/// High shelf of first order: `gain_db` above about `hz`.
pub fn shelf(sound: &Sound, rate_hz: u32, hz: f32, gain_db: f32) -> Sound {
    let warped = (std::f32::consts::PI * hz / rate_hz as f32).tan();
    let (feed, back) = (warped / (1.0 + warped), (1.0 - warped) / (1.0 + warped));
    let gain = 10f32.powf(gain_db / 20.0);
    let side = |samples: &[f32]| {
        let (mut low, mut before) = (0.0f32, 0.0f32);
        let shelved = samples.iter().map(|&sample| {
            low = feed * (sample + before) + back * low;
            before = sample;
            low + gain * (sample - low)
        });
        shelved.collect()
    };
    Sound::new(side(&sound.left), side(&sound.right))
}
