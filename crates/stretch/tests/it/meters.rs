//! What the goals are measured with, written apart from the crate's own code.

use std::f64::consts::TAU;

use realfft::RealFftPlanner;

use crate::material::{RATE_HZ, frame};

/// Mean power by blocks of half a millisecond.
pub fn blocks(channel: &[f64]) -> Vec<f64> {
    let block = frame(0.0005);
    channel
        .chunks(block)
        .map(|part| part.iter().map(|x| x * x).sum::<f64>() / block as f64)
        .collect()
}

/// The differences from sample to sample: highs, where hits begin.
pub fn differences(channel: &[f64]) -> Vec<f64> {
    channel.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

/// By how much the hit in `output` near `to_s` is late against that in `input` at
/// `from_s`, in seconds: the lag at which the logarithms of their envelopes agree best,
/// within 15 ms.
pub fn lag_s(input: &[f64], from_s: f64, output: &[f64], to_s: f64) -> Option<f64> {
    let envelope = |channel: &[f64], at_s: f64, reach_s: f64| -> Option<Vec<f64>> {
        let (from, to) = (
            frame((at_s - reach_s).max(0.0)),
            frame(at_s + reach_s + 0.004),
        );
        let part = channel.get(from..to)?;
        let hop = frame(0.00025);
        let power = part.windows(frame(0.001)).step_by(hop);
        Some(
            power
                .map(|w| (w.iter().map(|x| x * x).sum::<f64>() + 1e-9).ln())
                .collect(),
        )
    };
    let pattern = envelope(input, from_s, 0.008)?;
    let field = envelope(output, to_s, 0.023)?;
    let centred = |values: &[f64]| -> Vec<f64> {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let off: Vec<f64> = values.iter().map(|value| value - mean).collect();
        let norm = off.iter().map(|x| x * x).sum::<f64>().sqrt() + 1e-12;
        off.iter().map(|x| x / norm).collect()
    };
    let pattern = centred(&pattern);
    let likeness = field.windows(pattern.len()).map(|part| {
        centred(part)
            .iter()
            .zip(&pattern)
            .map(|(a, b)| a * b)
            .sum::<f64>()
    });
    let best = likeness.enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((best.0 as f64 * frame(0.00025) as f64) / f64::from(RATE_HZ) - 0.015)
}

/// The frequency near `hz` with the most power, in Hz: a Hann-windowed Fourier sum,
/// its top found by golden-section search.
pub fn frequency_hz(channel: &[f64], hz: f64) -> f64 {
    let length = channel.len() as f64;
    let power = |hz: f64| {
        let step = TAU * hz / f64::from(RATE_HZ);
        let (mut re, mut im) = (0.0, 0.0);
        for (n, x) in channel.iter().enumerate() {
            let window = 0.5 - 0.5 * (TAU * n as f64 / length).cos();
            let (sine, cosine) = (step * n as f64).sin_cos();
            re += x * window * cosine;
            im += x * window * sine;
        }
        re * re + im * im
    };
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    // Well within the main lobe, which is four bins wide.
    let reach = 1.0 * f64::from(RATE_HZ) / length;
    let (mut low, mut high) = (hz - reach, hz + reach);
    for _ in 0..24 {
        let (a, b) = (high - golden * (high - low), low + golden * (high - low));
        if power(a) > power(b) {
            high = b
        } else {
            low = a
        }
    }
    (low + high) / 2.0
}

pub fn cents(hz: f64, of_hz: f64) -> f64 {
    1200.0 * (hz / of_hz).log2()
}

/// Levels of third octaves in decibels, from `lowest_hz` (exact centre frequencies of
/// IEC 61260-1:2014, base ten) up to 16 kHz.
pub fn third_octaves_db(channels: &[&[f64]], lowest_hz: f64) -> Vec<(f64, f64)> {
    let length = 1 << 15;
    let fft = RealFftPlanner::<f64>::new().plan_fft_forward(length);
    let mut power = vec![0.0; length / 2 + 1];
    for channel in channels {
        let mut padded = vec![0.0; length / 2];
        padded.extend_from_slice(channel);
        padded.resize(channel.len() + 2 * length, 0.0);
        for start in (0..channel.len() + length / 2).step_by(length / 2) {
            let mut part: Vec<f64> = padded[start..start + length]
                .iter()
                .enumerate()
                .map(|(n, x)| x * (0.5 - 0.5 * (TAU * n as f64 / length as f64).cos()))
                .collect();
            let mut spectrum = fft.make_output_vec();
            fft.process(&mut part, &mut spectrum).unwrap();
            for (sum, value) in power.iter_mut().zip(&spectrum) {
                *sum += value.norm_sqr() / channel.len() as f64;
            }
        }
    }
    let bin_hz = f64::from(RATE_HZ) / length as f64;
    (-17..=12)
        .map(|n| 1000.0 * 10.0_f64.powf(f64::from(n) / 10.0))
        .filter(|centre| *centre > lowest_hz / 1.05)
        .map(|centre| {
            let (low, high) = (centre / 10.0_f64.powf(0.05), centre * 10.0_f64.powf(0.05));
            let sum: f64 = power
                .iter()
                .enumerate()
                .map(|(bin, value)| {
                    let hz = bin as f64 * bin_hz;
                    let part = (hz + bin_hz / 2.0).min(high) - (hz - bin_hz / 2.0).max(low);
                    value * (part / bin_hz).max(0.0)
                })
                .sum();
            (centre, 10.0 * (sum + 1e-20).log10())
        })
        .collect()
}
