//! How loud a sound is on a loudspeaker: nothing below a frequency is left, both sides
//! are folded to one, and what remains is weighed by loudness (ITU-R BS.1770).

use std::ops::Range;

use cupel_measure::KWeighting;
use realfft::RealFftPlanner;

use crate::faults::sound::Sound;

/// Both ends are faded over this, so that a cut through a low tone is not heard above.
const FADE_S: f64 = 0.05;

/// Power by loudness over a frequency of both sides folded to one.
pub(crate) fn folded_over(sound: &Sound, rate_hz: u32, frames: &Range<usize>, hz: f64) -> f64 {
    weighed_over(&sound.mid(), rate_hz, frames, hz)
}

/// Power by loudness of all of it, the mean of both sides.
pub(crate) fn in_full(sound: &Sound, rate_hz: u32, frames: &Range<usize>) -> f64 {
    let side = |side: &[f32]| weighed_over(side, rate_hz, frames, 0.0);
    0.5 * (side(&sound.left) + side(&sound.right))
}

fn weighed_over(samples: &[f32], rate_hz: u32, frames: &Range<usize>, hz: f64) -> f64 {
    let end = frames.end.min(samples.len());
    let part = &samples[frames.start.min(end)..end];
    if part.is_empty() {
        return 0.0;
    }
    let size = part.len().next_power_of_two();
    let transform = RealFftPlanner::<f64>::new().plan_fft_forward(size);
    let mut padded = transform.make_input_vec();
    let fade = (FADE_S * f64::from(rate_hz)).min(0.5 * part.len() as f64);
    let window = |frame: usize| {
        let from_end = (frame.min(part.len() - 1 - frame) as f64 + 0.5) / fade;
        0.5 - 0.5 * (std::f64::consts::PI * from_end.min(1.0)).cos()
    };
    let mut open = 0.0;
    for (frame, (to, &x)) in padded.iter_mut().zip(part).enumerate() {
        let window = window(frame);
        open += window * window;
        *to = window * f64::from(x);
    }
    let mut spectrum = transform.make_output_vec();
    // lengths are those of the plan
    let _ = transform.process(&mut padded, &mut spectrum);
    let rate_hz = f64::from(rate_hz);
    let weighting = KWeighting::new(rate_hz);
    let bin_hz = rate_hz / size as f64;
    let first = ((hz / bin_hz).ceil() as usize).max(1);
    let powers = spectrum.iter().enumerate().skip(first);
    let sum: f64 = powers
        .map(|(bin, x)| x.norm_sqr() * 10f64.powf(0.1 * weighting.gain_db(bin as f64 * bin_hz)))
        .sum();
    2.0 * sum / (size as f64 * open)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: u32 = 48_000;

    fn sine(hz: f64) -> Vec<f32> {
        let turn = std::f64::consts::TAU * hz / f64::from(RATE_HZ);
        (0..96_000)
            .map(|n| (turn * n as f64).sin() as f32)
            .collect()
    }

    /// At 997 Hz the weighting is what the recommendation takes off again: 0.691 dB.
    #[test]
    fn what_lies_below_is_gone_and_the_rest_is_weighed() {
        let both = Sound::new(sine(997.0), sine(997.0));
        let db = |power: f64| 10.0 * power.log10();
        let frames = 0..96_000;
        let over = folded_over(&both, RATE_HZ, &frames, 180.0);
        assert!((db(over) + 3.01 - 0.691).abs() < 0.02, "{}", db(over));
        assert!((in_full(&both, RATE_HZ, &frames) / over - 1.0).abs() < 0.01);
        let low = Sound::new(sine(60.0), sine(60.0));
        assert!(folded_over(&low, RATE_HZ, &frames, 180.0) < 1e-6);
        // against each other both sides fold to nothing, and are heard in full
        let other = sine(997.0).iter().map(|x| -x).collect();
        let apart = Sound::new(sine(997.0), other);
        assert!(folded_over(&apart, RATE_HZ, &frames, 180.0) < 1e-9);
        assert!(in_full(&apart, RATE_HZ, &frames) > 0.4);
    }
}
