//! What one stretch of sound holds: bands, tones, noise, pitch.

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};
use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

/// Upper edges of the bands in Hz, an octave each from 60 Hz.
pub(crate) const BAND_EDGES_HZ: [f64; 9] = [
    60.0, 120.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 24_000.0,
];
/// Number of bands.
pub(crate) const BANDS: usize = BAND_EDGES_HZ.len();
/// Most peaks that are looked at.
const PEAKS: usize = 16;
/// How far a peak stands over its surroundings, as a ratio of power.
const STANDS_OUT: f32 = 8.0;
/// How far a partial may lie from the harmonic.
const OFF: f64 = 0.025;

/// How the samples of a frame are weighed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    /// Evenly around the middle (Hann).
    Even,
    /// From a start on: up within a sixteenth, then down.
    Struck,
}

/// What a frame holds. Shares add up to 1; frequencies in octaves over 1 Hz.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct ToneFrame {
    /// Mean square, up to a constant.
    pub power: f64,
    /// Share of each band.
    pub bands: [f64; BANDS],
    /// Middle and spread of the spectrum.
    pub centroid_oct: f64,
    pub spread_oct: f64,
    /// Share of power in spectral peaks: under 300 Hz, to 2.5 kHz, and above,
    /// each of the power there; and of all.
    pub tonal: [f64; 4],
    /// Flatness in the same three regions, dB, 0 is white.
    pub flatness_db: [f64; 3],
    /// The strongest peak.
    pub strongest_oct: f64,
    /// Pitch, and the share of the peaks' amplitudes it explains.
    pub pitch_oct: f64,
    pub harmonic: f64,
    /// Share of the partials 1, 2, 3 and 4-6 in those of the pitch.
    pub partials: [f64; 4],
    /// Number of peaks within 30 dB of the strongest.
    pub peaks: f64,
}

struct Peak {
    hz: f64,
    power: f64,
}

/// Transforms frames of one length.
#[derive(Clone)]
pub(crate) struct ToneFrames {
    transform: Arc<dyn RealToComplex<f32>>,
    even: Vec<f32>,
    struck: Vec<f32>,
    bin_hz: f64,
    input: Vec<f32>,
    output: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
    power: Vec<f32>,
    /// Octaves over 1 Hz of every bin.
    octaves: Vec<f32>,
    edges: Vec<usize>,
}

impl fmt::Debug for ToneFrames {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("ToneFrames")
            .field("bin_hz", &self.bin_hz)
            .finish_non_exhaustive()
    }
}

impl ToneFrames {
    pub fn new(length: usize, sample_rate_hz: f64) -> Self {
        let transform = RealFftPlanner::new().plan_fft_forward(length);
        let bins = length / 2 + 1;
        let bin_hz = sample_rate_hz / length as f64;
        let up = (length / 16).max(1);
        let struck = |n: usize| {
            if n < up {
                (0.5 * PI * (n as f64 + 0.5) / up as f64).sin().powi(2)
            } else {
                (0.5 * PI * (n - up) as f64 / (length - up) as f64)
                    .cos()
                    .powi(2)
            }
        };
        Self {
            even: (0..length)
                .map(|n| (PI * (n as f64 + 0.5) / length as f64).sin().powi(2) as f32)
                .collect(),
            struck: (0..length).map(|n| struck(n) as f32).collect(),
            bin_hz,
            input: transform.make_input_vec(),
            output: transform.make_output_vec(),
            scratch: transform.make_scratch_vec(),
            power: vec![0.0; bins],
            octaves: (0..bins)
                .map(|bin| ((bin.max(1) as f64 * bin_hz).log2()) as f32)
                .collect(),
            edges: BAND_EDGES_HZ
                .iter()
                .map(|hz| ((hz / bin_hz).round() as usize).clamp(1, bins))
                .collect(),
            transform,
        }
    }

    /// Samples a frame.
    pub fn length(&self) -> usize {
        self.even.len()
    }

    /// Reads one frame of [`ToneFrames::length`] samples; `None` for silence.
    pub fn read(&mut self, samples: &[f32], shape: Shape) -> Option<ToneFrame> {
        let window = match shape {
            Shape::Even => &self.even,
            Shape::Struck => &self.struck,
        };
        for ((to, &sample), &weight) in self.input.iter_mut().zip(samples).zip(window) {
            *to = sample * weight;
        }
        self.transform
            .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch)
            .ok()?;
        for (power, bin) in self.power.iter_mut().zip(&self.output) {
            *power = bin.norm_sqr();
        }
        self.power[0] = 0.0;
        let total: f64 = self.sum(1, self.power.len());
        if total <= 1e-12 {
            return None;
        }
        let mut frame = ToneFrame {
            power: total / self.length() as f64,
            ..ToneFrame::default()
        };
        self.describe_shape(total, &mut frame);
        self.describe_tones(total, &mut frame);
        Some(frame)
    }

    fn sum(&self, from: usize, to: usize) -> f64 {
        let bins = self.power.get(from..to).unwrap_or_default();
        f64::from(bins.iter().sum::<f32>())
    }

    fn describe_shape(&self, total: f64, frame: &mut ToneFrame) {
        let mut from = 1;
        for (share, &to) in frame.bands.iter_mut().zip(&self.edges) {
            *share = self.sum(from, to.max(from)) / total;
            from = to.max(from);
        }
        let (mut first, mut second) = (0.0f32, 0.0f32);
        for (&power, &octave) in self.power.iter().zip(&self.octaves).skip(1) {
            first += power * octave;
            second += power * octave * octave;
        }
        frame.centroid_oct = f64::from(first) / total;
        let square = f64::from(second) / total - frame.centroid_oct * frame.centroid_oct;
        frame.spread_oct = square.max(0.0).sqrt();
        for (region, flatness) in self.regions().into_iter().zip(&mut frame.flatness_db) {
            *flatness = flatness_db(&self.power[region.0..region.1]);
        }
    }

    /// Bins under 300 Hz, to 2.5 kHz, and to 16 kHz.
    fn regions(&self) -> [(usize, usize); 3] {
        let bin = |hz: f64| ((hz / self.bin_hz).round() as usize).clamp(1, self.power.len());
        [
            (1, bin(300.0)),
            (bin(300.0), bin(2500.0)),
            (bin(2500.0), bin(16_000.0)),
        ]
    }

    fn describe_tones(&self, total: f64, frame: &mut ToneFrame) {
        let (mut peaks, tonal) = self.peaks(total);
        for (index, region) in self.regions().into_iter().enumerate() {
            let power = self.sum(region.0, region.1);
            frame.tonal[index] = if power > 1e-4 * total {
                tonal[index] / power
            } else {
                0.0
            };
        }
        frame.tonal[3] = tonal.iter().sum::<f64>() / total;
        peaks.sort_by(|a, b| b.power.total_cmp(&a.power));
        let Some(strongest) = peaks.first() else {
            return;
        };
        let least = strongest.power * 1e-3;
        frame.strongest_oct = strongest.hz.log2();
        frame.peaks = peaks.iter().filter(|peak| peak.power > least).count() as f64;
        peaks.truncate(PEAKS);
        describe_pitch(&peaks, frame);
    }

    /// Peaks that stand out, and their power in each region.
    fn peaks(&self, total: f64) -> (Vec<Peak>, [f64; 3]) {
        let regions = self.regions();
        let mut peaks = Vec::new();
        let mut tonal = [0.0; 3];
        let least = (total * 1e-5) as f32;
        let power = &self.power;
        for bin in 2..power.len().saturating_sub(2) {
            let middle = power[bin];
            if middle < least || middle < power[bin - 1] || middle <= power[bin + 1] {
                continue;
            }
            let reach = 4 + bin / 24;
            let around = |from: usize, to: usize| {
                let bins = power
                    .get(from.min(power.len())..to.min(power.len()))
                    .unwrap_or_default();
                bins.iter().sum::<f32>() / bins.len().max(1) as f32
            };
            let below = around((bin - 2).saturating_sub(reach), bin - 2);
            let above = around(bin + 3, bin + 3 + reach);
            if middle < STANDS_OUT * 0.5 * (below + above) {
                continue;
            }
            let own: f32 = power[bin - 2..=bin + 2].iter().sum();
            if let Some(index) = regions
                .iter()
                .position(|&(from, to)| (from..to).contains(&bin))
            {
                tonal[index] += f64::from(own);
            }
            let (a, b, c) = (power[bin - 1].ln(), middle.ln(), power[bin + 1].ln());
            let bend = a - 2.0 * b + c;
            let shift = if bend < -1e-6 {
                0.5 * (a - c) / bend
            } else {
                0.0
            };
            peaks.push(Peak {
                hz: (bin as f64 + f64::from(shift).clamp(-0.5, 0.5)) * self.bin_hz,
                power: f64::from(own),
            });
        }
        (peaks, tonal)
    }
}

/// Geometric over arithmetic mean, dB.
fn flatness_db(power: &[f32]) -> f64 {
    let sum: f64 = f64::from(power.iter().sum::<f32>());
    if power.is_empty() || sum <= 0.0 {
        return 0.0;
    }
    let mean = sum / power.len() as f64;
    // eight at a time, so that few logarithms are taken
    let logs: f64 = power
        .chunks(8)
        .map(|chunk| {
            chunk
                .iter()
                .map(|&p| (f64::from(p) / mean).max(1e-12))
                .product::<f64>()
                .ln()
        })
        .sum();
    10.0 / std::f64::consts::LN_10 * logs / power.len() as f64
}

/// The pitch whose harmonics explain most of the peaks: the share of amplitude
/// explained, less for harmonics that should be there and are not.
fn describe_pitch(peaks: &[Peak], frame: &mut ToneFrame) {
    let amplitudes: Vec<f64> = peaks.iter().map(|peak| peak.power.sqrt()).collect();
    let all: f64 = amplitudes.iter().sum();
    let number = |hz: f64, pitch: f64| {
        let nearest = (hz / pitch).round();
        let off = (hz / pitch - nearest).abs() / nearest.max(1.0);
        ((1.0..=30.0).contains(&nearest) && off < OFF).then_some(nearest as usize)
    };
    let mut best = (0.0, 0.0);
    for peak in peaks.iter().take(6) {
        for part in 1..=4 {
            let pitch = peak.hz / f64::from(part);
            if pitch < 27.0 {
                continue;
            }
            let (mut share, mut seen) = (0.0, 0u32);
            for (peak, amplitude) in peaks.iter().zip(&amplitudes) {
                if let Some(n) = number(peak.hz, pitch) {
                    share += amplitude;
                    seen |= 1 << n.min(31);
                }
            }
            let highest = 31 - seen.leading_zeros();
            let expected = highest.clamp(1, 8);
            let found = (1..=expected).filter(|n| seen & (1 << n) != 0).count() as f64;
            let score = share / all * (found / f64::from(expected)).sqrt();
            if score > best.0 + 1e-9 {
                best = (score, pitch);
            }
        }
    }
    if best.1 <= 0.0 {
        return;
    }
    frame.harmonic = best.0;
    frame.pitch_oct = best.1.log2();
    let mut own = 0.0;
    for peak in peaks {
        if let Some(n) = number(peak.hz, best.1) {
            own += peak.power;
            let slot = match n {
                1..=3 => n - 1,
                4..=6 => 3,
                _ => continue,
            };
            frame.partials[slot] += peak.power;
        }
    }
    frame
        .partials
        .iter_mut()
        .for_each(|share| *share /= own.max(1e-30));
}
