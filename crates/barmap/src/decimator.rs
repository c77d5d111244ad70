//! The low end at a rate of 1.5 to 2 kHz, without delay and flat to 530 Hz.
//!
//! Two symmetrical low-pass filters with a Kaiser window (J. F. Kaiser,
//! "Nonrecursive digital filter design using the I0-sinh window function",
//! Proc. IEEE ISCAS 1974) reject what folds below 530 Hz by 80 dB.

use std::f64::consts::PI;

/// The low end is flat up to here.
pub(crate) const PASS_HZ: f64 = 530.0;
/// Stop band attenuation; it gives length and shape of the window.
const ATTENUATION_DB: f64 = 80.0;
const MIDDLE_RATE_HZ: f64 = 6000.0;
const LOW_RATE_HZ: f64 = 1500.0;
const LANES: usize = 8;

/// Both steps of one channel.
#[derive(Clone, Debug)]
pub(crate) struct Decimator {
    steps: [Step; 2],
    between: Vec<f32>,
}

impl Decimator {
    pub(crate) fn new(sample_rate_hz: f64) -> Self {
        let factor = |from_hz: f64, to_hz: f64| (from_hz / to_hz).floor().clamp(1.0, 16.0) as usize;
        let first = factor(sample_rate_hz, MIDDLE_RATE_HZ);
        let middle_rate_hz = sample_rate_hz / first as f64;
        let second = factor(middle_rate_hz, LOW_RATE_HZ);
        Self {
            steps: [
                Step::new(first, sample_rate_hz),
                Step::new(second, middle_rate_hz),
            ],
            between: Vec::new(),
        }
    }

    /// Samples taken in for one given out.
    pub(crate) fn factor(&self) -> usize {
        self.steps[0].factor * self.steps[1].factor
    }

    /// Appends to `out` what `samples` complete; the first sample out belongs to
    /// the time of the first sample in.
    pub(crate) fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        self.between.clear();
        self.steps[0].push(samples, &mut self.between);
        self.steps[1].push(&self.between, out);
    }

    /// Frames of silence that bring out everything.
    pub(crate) fn tail(&self) -> usize {
        let [first, second] = &self.steps;
        first.taps.len() + second.taps.len() * first.factor
    }
}

/// One filter that keeps one sample in `factor`.
#[derive(Clone, Debug)]
struct Step {
    factor: usize,
    taps: Vec<f32>,
    waiting: Vec<f32>,
}

impl Step {
    fn new(factor: usize, rate_hz: f64) -> Self {
        if factor == 1 {
            let (taps, waiting) = (vec![1.0], Vec::new());
            return Self {
                factor,
                taps,
                waiting,
            };
        }
        let stop_hz = rate_hz / factor as f64 - PASS_HZ;
        let width = 2.0 * PI * (stop_hz - PASS_HZ) / rate_hz;
        let half = ((ATTENUATION_DB - 8.0) / (2.285 * width) / 2.0).ceil() as usize;
        let cutoff = 0.5 * (stop_hz + PASS_HZ) / rate_hz;
        let beta = 0.1102 * (ATTENUATION_DB - 8.7);
        let mut taps: Vec<f64> = (0..=2 * half)
            .map(|n| {
                let offset = n as f64 - half as f64;
                sinc(2.0 * cutoff * offset) * kaiser(offset / (half + 1) as f64, beta)
            })
            .collect();
        let sum: f64 = taps.iter().sum();
        taps.iter_mut().for_each(|tap| *tap /= sum);
        Self {
            factor,
            taps: taps.iter().map(|&tap| tap as f32).collect(),
            waiting: vec![0.0; half],
        }
    }

    fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        if self.factor == 1 {
            out.extend_from_slice(samples);
            return;
        }
        self.waiting.extend_from_slice(samples);
        let mut start = 0;
        while let Some(window) = self.waiting.get(start..start + self.taps.len()) {
            out.push(dot(window, &self.taps));
            start += self.factor;
        }
        self.waiting.drain(..start);
    }
}

/// Sum of products, in lanes.
pub(crate) fn dot(one: &[f32], other: &[f32]) -> f32 {
    let mut lanes = [0.0f32; LANES];
    let (a, b) = (one.chunks_exact(LANES), other.chunks_exact(LANES));
    let rest = a.remainder().iter().zip(b.remainder());
    for (a, b) in a.zip(b) {
        for lane in 0..LANES {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    lanes.iter().sum::<f32>() + rest.fold(0.0, |sum, (a, b)| sum + a * b)
}

fn sinc(x: f64) -> f64 {
    if x == 0.0 {
        1.0
    } else {
        (PI * x).sin() / (PI * x)
    }
}

/// The Kaiser window at `position` in -1..1 of its half width.
fn kaiser(position: f64, beta: f64) -> f64 {
    bessel_i0(beta * (1.0 - position * position).max(0.0).sqrt()) / bessel_i0(beta)
}

/// Zeroth-order modified Bessel function of the first kind, by its series.
fn bessel_i0(x: f64) -> f64 {
    let (mut sum, mut term, mut k) = (1.0, 1.0, 1.0);
    while term > sum * 1e-17 {
        term *= (x / (2.0 * k)) * (x / (2.0 * k));
        sum += term;
        k += 1.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level_db(rate_hz: f64, hertz: f64) -> f64 {
        let mut decimator = Decimator::new(rate_hz);
        let tone: Vec<f32> = (0..rate_hz as usize)
            .map(|n| (2.0 * PI * hertz * n as f64 / rate_hz).sin() as f32)
            .collect();
        let mut out = Vec::new();
        decimator.push(&tone, &mut out);
        let middle = &out[out.len() / 4..out.len() * 3 / 4];
        let power: f32 = middle.iter().map(|x| x * x).sum::<f32>() / middle.len() as f32;
        10.0 * f64::from(2.0 * power).log10()
    }

    #[test]
    fn the_low_end_is_flat_and_nothing_folds_into_it() {
        for rate_hz in [22_050.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0] {
            let factor = Decimator::new(rate_hz).factor();
            let low_rate_hz = rate_hz / factor as f64;
            assert!((1500.0..2000.0).contains(&low_rate_hz), "{low_rate_hz}");
            for hertz in [30.0, 151.0, 400.0, 525.0] {
                let level = level_db(rate_hz, hertz);
                assert!(level.abs() < 0.02, "{hertz} Hz at {rate_hz}: {level}");
            }
            for hertz in [low_rate_hz - 500.0, low_rate_hz + 100.0, 5900.0] {
                let level = level_db(rate_hz, hertz);
                assert!(level < -75.0, "{hertz} Hz at {rate_hz}: {level}");
            }
        }
    }

    #[test]
    fn an_impulse_stays_in_its_place() {
        let mut decimator = Decimator::new(48_000.0);
        let mut impulse = vec![0.0; 48_000];
        impulse[24_000] = 1.0;
        let mut out = Vec::new();
        decimator.push(&impulse, &mut out);
        let highest = (0..out.len()).max_by(|&a, &b| out[a].total_cmp(&out[b]));
        assert_eq!(highest, Some(24_000 / decimator.factor()));
    }
}
