//! Third-octave levels of a passage as a whole.
//!
//! Centres are those of IEC 61260-1:2014 (base ten): 1000 Hz * 10^(n / 10).

use realfft::RealFftPlanner;

/// Length of the frames at up to 50 kHz; twice that above.
const FRAMES: usize = 32_768;

/// The third octaves from 25 Hz to 20 kHz, by their n.
const BANDS: std::ops::RangeInclusive<i32> = -16..=13;

/// Centres of the bands, in Hz.
pub(crate) fn centres_hz() -> Vec<f64> {
    BANDS
        .map(|n| 1000.0 * libm::exp10(f64::from(n) / 10.0))
        .collect()
}

/// Mean power by third octave, over all of `channels` between two frames.
pub(crate) fn third_octaves(
    channels: &[Vec<f64>],
    from: usize,
    to: usize,
    rate_hz: f64,
) -> Vec<f64> {
    let length = if rate_hz > 50_000.0 {
        2 * FRAMES
    } else {
        FRAMES
    };
    let mut planner = RealFftPlanner::<f64>::new();
    let fft = planner.plan_fft_forward(length);
    let mut spectrum = fft.make_output_vec();
    let mut frame = vec![0.0; length];
    let mut power = vec![0.0; length / 2 + 1];
    let window: Vec<f64> = (0..length)
        .map(|n| 0.5 - 0.5 * libm::cos(std::f64::consts::TAU * n as f64 / length as f64))
        .collect();
    let hop = length / 2;
    for channel in channels {
        let sound = channel.get(from..to.min(channel.len())).unwrap_or(&[]);
        // Half a frame of silence at both ends: every moment weighs the same.
        for start in (0..sound.len() + hop).step_by(hop) {
            for (n, (value, window)) in frame.iter_mut().zip(&window).enumerate() {
                let place = (start + n).checked_sub(hop);
                *value = place.and_then(|place| sound.get(place)).unwrap_or(&0.0) * window;
            }
            let _ = fft.process(&mut frame, &mut spectrum);
            for (sum, value) in power.iter_mut().zip(&spectrum) {
                *sum += value.norm_sqr();
            }
        }
    }
    let bin_hz = rate_hz / length as f64;
    let frames = (to - from).max(1) as f64;
    centres_hz()
        .iter()
        .map(|centre| {
            let edge = libm::exp10(0.05);
            sum_between(&power, centre / edge / bin_hz, centre * edge / bin_hz) / frames
        })
        .collect()
}

/// The sum of bins between two places, bins at the edges in part.
fn sum_between(power: &[f64], low: f64, high: f64) -> f64 {
    power
        .iter()
        .enumerate()
        .skip(low as usize)
        .take((high - low) as usize + 3)
        .map(|(bin, value)| {
            let (from, to) = (bin as f64 - 0.5, bin as f64 + 0.5);
            value * (to.min(high) - from.max(low)).max(0.0)
        })
        .sum()
}
