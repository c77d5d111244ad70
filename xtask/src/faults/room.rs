//! Exponentially decaying noise: a room of a wanted decay, and what makes a sound wide.

use realfft::RealFftPlanner;

use crate::faults::sound::{Sound, noise};
use crate::prove::dice::Dice;

/// Impulse response of a room without its direct sound, energy 1 on each side;
/// decays by 60 dB in `seconds`.
pub(crate) fn room(rate_hz: u32, seconds: f64, late_s: f64, dice: &mut Dice) -> Sound {
    let rate = f64::from(rate_hz);
    let frames = (1.2 * seconds * rate) as usize;
    let late = (late_s * rate) as usize;
    let raw = noise(frames, dice).map(|n, left, right| {
        let fall = 10f64.powf(-3.0 * n as f64 / (seconds * rate));
        match n >= late {
            true => (fall * left, fall * right),
            false => (0.0, 0.0),
        }
    });
    let energy = raw.power() * frames as f64;
    raw.gained(-10.0 * energy.max(1e-30).log10())
}

/// A sound through an impulse response; as long as the sound, or with its tail.
pub(crate) fn convolved(sound: &Sound, response: &Sound, with_tail: bool) -> Sound {
    let length = match with_tail {
        true => sound.frames() + response.frames(),
        false => sound.frames(),
    };
    Sound::new(
        convolve(&sound.left, &response.left, length),
        convolve(&sound.right, &response.right, length),
    )
}

/// Blocks with overlap and add.
fn convolve(samples: &[f32], response: &[f32], length: usize) -> Vec<f32> {
    let block = response.len().next_power_of_two().max(16_384);
    let size = 2 * block;
    let mut planner = RealFftPlanner::<f64>::new();
    let (forward, inverse) = (
        planner.plan_fft_forward(size),
        planner.plan_fft_inverse(size),
    );
    let spectrum_of = |part: &[f32]| {
        let mut padded = forward.make_input_vec();
        let filled = padded.iter_mut().zip(part);
        filled.for_each(|(to, &x)| *to = f64::from(x));
        let mut spectrum = forward.make_output_vec();
        // lengths are those of the plan
        let _ = forward.process(&mut padded, &mut spectrum);
        spectrum
    };
    let filter = spectrum_of(response);
    let mut out = vec![0.0f64; length];
    for (number, part) in samples.chunks(block).enumerate() {
        if part.iter().all(|x| *x == 0.0) {
            continue;
        }
        let mut spectrum = spectrum_of(part);
        spectrum.iter_mut().zip(&filter).for_each(|(a, b)| *a *= b);
        let mut back = inverse.make_output_vec();
        let _ = inverse.process(&mut spectrum, &mut back);
        let from = (number * block).min(length);
        let sums = out[from..].iter_mut().zip(&back);
        sums.for_each(|(sum, x)| *sum += x / size as f64);
    }
    out.into_iter().map(|x| x as f32).collect()
}

/// The same sound with other phases: noise of 20 ms, so that it is unlike itself but
/// of the same colour. Both sides get the same.
pub(crate) fn unlike(samples: &[f32], rate_hz: u32, dice: &mut Dice) -> Vec<f32> {
    let response = room(rate_hz, 0.03, 0.003, dice);
    convolve(samples, &response.left, samples.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_do_not_show() {
        let mut dice = Dice::new(3);
        let sound = noise(40_000, &mut dice);
        let response: Vec<f32> = noise(50, &mut dice).left;
        let fast = convolve(&sound.left, &response, 40_050);
        for n in [0, 30, 16_383, 16_390, 39_999, 40_040] {
            let plain: f64 = (0..50)
                .filter(|k| n >= *k && n - k < 40_000)
                .map(|k| f64::from(response[k]) * f64::from(sound.left[n - k]))
                .sum();
            assert!((f64::from(fast[n]) - plain).abs() < 1e-4, "{n}");
        }
    }

    #[test]
    fn a_room_has_its_decay_and_its_energy() {
        let room = room(48_000, 0.5, 0.0, &mut Dice::new(1));
        let early = room.power_in(0..4800);
        let later = room.power_in(9600..14_400);
        let fell_db = 10.0 * (early / later).log10();
        assert!((fell_db - 24.0).abs() < 1.0, "{fell_db}");
        assert!((room.power() * room.frames() as f64 - 1.0).abs() < 1e-3);
    }
}
