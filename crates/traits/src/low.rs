//! The sound at lower rates, and the two filters the decay is read through.

use cupel_process::{Biquad, BiquadCoefficients};

/// First rate is near this.
pub(crate) const MIDDLE_RATE_HZ: f64 = 12_000.0;
/// The second is the first over this.
pub(crate) const LOW_STEP: usize = 8;
/// Taps of the filter before the second rate.
const TAPS: usize = 48;
/// Room is read above this...
const ABOVE_HZ: f64 = 250.0;
/// ...and below this.
const BELOW_HZ: f64 = 120.0;

/// Makes the lower rates out of mono sound.
#[derive(Clone, Debug)]
pub(crate) struct Lows {
    /// Frames in one of the first rate.
    pub(crate) step: usize,
    taps: [f64; TAPS],
    past: Vec<f64>,
    high: Biquad,
    low: Biquad,
    /// Sound above 250 Hz at the first rate.
    pub(crate) above: Vec<f64>,
    /// All sound at the second rate.
    pub(crate) slow: Vec<f64>,
    /// Sound below 120 Hz at the second rate.
    pub(crate) below: Vec<f64>,
}

impl Lows {
    pub(crate) fn new(sample_rate_hz: f64) -> Self {
        let step = libm::round(sample_rate_hz / MIDDLE_RATE_HZ).max(1.0) as usize;
        let rate_hz = sample_rate_hz / step as f64;
        let low_rate_hz = rate_hz / LOW_STEP as f64;
        Self {
            step,
            taps: low_pass_taps(),
            past: vec![0.0; TAPS - LOW_STEP],
            high: Biquad::new(second_order(ABOVE_HZ / rate_hz, true)),
            low: Biquad::new(second_order(BELOW_HZ / low_rate_hz, false)),
            above: Vec::new(),
            slow: Vec::new(),
            below: Vec::new(),
        }
    }

    /// Takes the next frames: a whole number of the second rate.
    pub(crate) fn take(&mut self, mono: &[f32]) {
        let scale = 1.0 / self.step as f64;
        self.above.clear();
        let parts = mono.chunks_exact(self.step);
        self.above
            .extend(parts.map(|part| scale * f64::from(part.iter().sum::<f32>())));
        self.past.extend_from_slice(&self.above);
        self.slow.clear();
        let windows = self.past.windows(TAPS).step_by(LOW_STEP);
        let taps = &self.taps;
        self.slow.extend(windows.map(|window| dot(window, taps)));
        let kept = self.past.len() - (TAPS - LOW_STEP);
        self.past.drain(..kept);
        self.below.clear();
        self.below.extend_from_slice(&self.slow);
        self.high.process(&mut self.above);
        self.low.process(&mut self.below);
    }
}

/// In lanes, so that the sum is fixed and quick.
fn dot(window: &[f64], taps: &[f64; TAPS]) -> f64 {
    let mut lanes = [0.0; 4];
    let (window, _) = window.as_chunks::<4>();
    let (taps, _) = taps.as_chunks::<4>();
    for (x, tap) in window.iter().zip(taps) {
        for lane in 0..4 {
            lanes[lane] += x[lane] * tap[lane];
        }
    }
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])
}

/// Sinc under a Hann window, cut off at the middle between what is wanted and what
/// would fold onto it; 1 at zero frequency.
fn low_pass_taps() -> [f64; TAPS] {
    let cutoff = 0.5 / LOW_STEP as f64;
    let mut taps: [f64; TAPS] = std::array::from_fn(|n| {
        let t = n as f64 - 0.5 * (TAPS as f64 - 1.0);
        let phase = std::f64::consts::TAU * cutoff * t;
        let sinc = libm::sin(phase) / phase;
        let turn = std::f64::consts::PI * t / (0.5 * (TAPS as f64 + 1.0));
        sinc * (0.5 + 0.5 * libm::cos(turn))
    });
    let sum: f64 = taps.iter().sum();
    taps.iter_mut().for_each(|tap| *tap /= sum);
    taps
}

/// Butterworth high- or low-pass of second order at `frequency` of the rate.
///
/// Source: R. Bristow-Johnson, Audio EQ Cookbook, "HPF" and "LPF",
/// <https://www.w3.org/TR/audio-eq-cookbook/>.
fn second_order(frequency: f64, high: bool) -> BiquadCoefficients {
    let w = std::f64::consts::TAU * frequency.min(0.45);
    let cosine = libm::cos(w);
    let alpha = libm::sin(w) * std::f64::consts::FRAC_1_SQRT_2;
    let a0 = 1.0 + alpha;
    let (outer, middle) = if high {
        (0.5 * (1.0 + cosine), -(1.0 + cosine))
    } else {
        (0.5 * (1.0 - cosine), 1.0 - cosine)
    };
    BiquadCoefficients {
        b: [outer / a0, middle / a0, outer / a0],
        a: [-2.0 * cosine / a0, (1.0 - alpha) / a0],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn filters_are_3_db_down_at_their_corner() {
        let rate_hz = 12_000.0;
        for high in [true, false] {
            let filter = second_order(250.0 / rate_hz, high);
            assert!((filter.gain_db(250.0, rate_hz) + 3.0103).abs() < 1e-6);
            let (kept_hz, lost_hz) = if high { (3000.0, 25.0) } else { (25.0, 2500.0) };
            assert!(filter.gain_db(kept_hz, rate_hz).abs() < 0.1);
            assert!(filter.gain_db(lost_hz, rate_hz) < -38.0);
        }
    }

    #[test]
    fn lower_rates_keep_what_they_can_hold() {
        for (hz, kept) in [(50.0, true), (240.0, true), (1_400.0, false)] {
            let mut lows = Lows::new(48_000.0);
            let mono: Vec<f32> = (0..48_000)
                .map(|n| (std::f64::consts::TAU * hz * n as f64 / 48_000.0).sin() as f32)
                .collect();
            let mut peak = 0.0f64;
            for part in mono.chunks_exact(4_800) {
                lows.take(part);
                peak = lows.slow[20..].iter().fold(peak, |a, x| a.max(x.abs()));
            }
            assert_eq!(peak > 0.95, kept, "{hz} Hz: {peak}");
            assert!(kept || peak < 0.01, "{hz} Hz: {peak}");
        }
    }
}
