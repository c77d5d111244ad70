//! Short signals of fixed seed. Every value is one that 32-bit float holds.

use super::Sound;

/// Rate of the signals.
pub const RATE_HZ: u32 = 48_000;

/// Noise between -1 and 1 (splitmix64).
pub fn noise(seed: u64, frames: usize) -> Vec<f64> {
    let mut state = seed;
    let mut next = || {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    };
    rounded((0..frames).map(|_| next()).collect())
}

pub fn sine(frequency_hz: f64, amplitude: f64, frames: usize) -> Vec<f64> {
    let step = std::f64::consts::TAU * frequency_hz / f64::from(RATE_HZ);
    rounded(
        (0..frames)
            .map(|n| amplitude * (step * n as f64).sin())
            .collect(),
    )
}

pub fn silence(frames: usize) -> Vec<f64> {
    vec![0.0; frames]
}

/// Beats of a falling 55 Hz tone, two a second, mono.
pub fn kick(amplitude: f64, frames: usize) -> Sound {
    let beat = RATE_HZ as usize / 2;
    let sound = (0..frames).map(|n| {
        let t = (n % beat) as f64 / f64::from(RATE_HZ);
        amplitude * (-t * 14.0).exp() * (std::f64::consts::TAU * 55.0 * t).sin()
    });
    vec![rounded(sound.collect())]
}

/// A wavering tone with overtones below 400 Hz, stereo, with some noise apart
/// on both sides so that no two tracks are alike.
pub fn bass(amplitude: f64, frames: usize) -> Sound {
    let side = |seed| {
        let hiss = low_pass(&noise(seed, frames), 0.02);
        let tone = (0..frames).map(|n| {
            let t = n as f64 / f64::from(RATE_HZ);
            let wave: f64 = (1..=4)
                .map(|k| (std::f64::consts::TAU * 82.0 * f64::from(k) * t).sin() / f64::from(k))
                .sum();
            amplitude * (0.6 + 0.4 * (t * 5.0).sin()) * (0.4 * wave + hiss[n])
        });
        rounded(tone.collect())
    };
    vec![side(21), side(22)]
}

/// Short bursts of bright noise, eight a second, mono.
pub fn hats(amplitude: f64, frames: usize) -> Sound {
    let bright = noise(31, frames);
    let step = RATE_HZ as usize / 8;
    let sound = (0..frames).map(|n| {
        let before = if n > 0 { bright[n - 1] } else { 0.0 };
        let fall = (-((n % step) as f64) / 1500.0).exp();
        amplitude * fall * 0.5 * (bright[n] - before)
    });
    vec![rounded(sound.collect())]
}

/// A minor, equal temperament (ISO 16).
const CHORD_HZ: [f64; 3] = [220.0, 261.626, 329.628];

/// A chord in noise of the middle, swelling slowly, stereo and wide.
pub fn pad(amplitude: f64, frames: usize) -> Sound {
    let side = |seed| {
        let soft = low_pass(&noise(seed, frames), 0.15);
        let sound = soft.iter().enumerate().map(|(n, x)| {
            let t = n as f64 / f64::from(RATE_HZ);
            let note = |hertz: f64| {
                (1..=5)
                    .map(|k| f64::from(k) * hertz)
                    .map(|hertz| {
                        (std::f64::consts::TAU * hertz * t + seed as f64).sin() * 220.0 / hertz
                    })
                    .sum::<f64>()
            };
            let chord = CHORD_HZ.iter().map(|&hertz| note(hertz)).sum::<f64>();
            amplitude * (0.7 + 0.3 * (t * 2.1 + seed as f64).sin()) * (0.5 * x + 0.08 * chord)
        });
        rounded(sound.collect())
    };
    vec![side(41), side(42)]
}

/// One pole; `part` of the step to the input is made each frame.
fn low_pass(input: &[f64], part: f64) -> Vec<f64> {
    let mut state = 0.0;
    input
        .iter()
        .map(|x| {
            state += part * (x - state);
            state
        })
        .collect()
}

pub fn rounded(sound: Vec<f64>) -> Vec<f64> {
    sound.into_iter().map(|x| f64::from(x as f32)).collect()
}

/// The sound times a gain, each value rounded to 32-bit float.
pub fn scaled(sound: &Sound, gain_db: f64) -> Sound {
    let gain = 10f64.powf(gain_db / 20.0);
    sound
        .iter()
        .map(|channel| rounded(channel.iter().map(|x| x * gain).collect()))
        .collect()
}

/// The sum of sounds in their order, in 64 bits from 0.0 on; mono on both
/// sides, shorter ones followed by silence.
pub fn sum(sounds: &[&Sound]) -> Sound {
    let frames = sounds.iter().map(|sound| sound[0].len()).max().unwrap_or(0);
    let mut total = vec![vec![0.0; frames]; 2];
    for sound in sounds {
        for (side, total) in total.iter_mut().enumerate() {
            let channel = &sound[side.min(sound.len() - 1)];
            total.iter_mut().zip(channel).for_each(|(t, x)| *t += x);
        }
    }
    total
}

/// Where two sounds first differ in the bits of 32-bit float, with both values.
pub fn first_difference(a: &Sound, b: &Sound) -> Option<(usize, usize, f32, f32)> {
    assert_eq!(a.len(), b.len());
    for (channel, (a, b)) in a.iter().zip(b).enumerate() {
        assert_eq!(a.len(), b.len(), "channel {channel}");
        for (frame, (&a, &b)) in a.iter().zip(b).enumerate() {
            let (a, b) = (a as f32, b as f32);
            if a.to_bits() != b.to_bits() {
                return Some((channel, frame, a, b));
            }
        }
    }
    None
}
