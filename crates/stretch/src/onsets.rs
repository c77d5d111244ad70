//! Onsets of a passage, rather too many than too few.
//!
//! An onset too many costs little: tones go on across it. Spectral flux with a
//! maximum over neighbouring bins: S. Böck and G. Widmer, "Maximum Filter Vibrato
//! Suppression for Onset Detection", DAFx 2013.

use realfft::RealFftPlanner;

/// Length of a frame and the step between frames, in seconds.
const WINDOW_S: f64 = 0.023;
const HOP_S: f64 = 0.005;

/// Flux is counted in bands between these.
const BAND_EDGES_HZ: [f64; 7] = [30.0, 150.0, 400.0, 1000.0, 2500.0, 6000.0, 16_000.0];

/// A band's mean rise that makes an onset, in decades of magnitude, and how far it
/// stands above the mean of the rises around it.
const RISE: f64 = 0.04;
const RISE_LOW: f64 = 0.1;
const OVER_MEAN: f64 = 1.5;

/// A rise is counted over this many steps.
const LAG: usize = 3;

/// An onset is the highest within this time to both sides, in seconds.
const APART_S: f64 = 0.025;

/// Places of onsets, in frames.
pub(crate) struct Onsets {
    /// In any band.
    pub all: Vec<f64>,
    /// In the lowest band.
    pub low: Vec<f64>,
}

/// Finds onsets in `channels`.
pub(crate) fn find(channels: &[Vec<f64>], rate_hz: f64) -> Onsets {
    let hop = (HOP_S * rate_hz).max(1.0) as usize;
    let bands = flux(channels, rate_hz, hop);
    let places = |found: Vec<usize>| found.iter().map(|n| (n * hop) as f64).collect();
    Onsets {
        all: places(bands.iter().flat_map(|flux| peaks(flux, RISE)).collect()),
        low: places(
            bands
                .first()
                .map(|flux| peaks(flux, RISE_LOW))
                .unwrap_or_default(),
        ),
    }
}

/// Frames where the flux of one band stands out.
fn peaks(flux: &[f64], rise: f64) -> Vec<usize> {
    let apart = (APART_S / HOP_S) as usize;
    let mean = |from: usize, to: usize| {
        let part = flux.get(from..to.min(flux.len())).unwrap_or(&[]);
        part.iter().sum::<f64>() / part.len().max(1) as f64
    };
    let highest = |from: usize, to: usize| {
        let part = flux.get(from..to.min(flux.len())).unwrap_or(&[]);
        part.iter().copied().fold(0.0, f64::max)
    };
    (0..flux.len())
        .filter(|&n| {
            let value = flux.get(n).copied().unwrap_or(0.0);
            value > rise + OVER_MEAN * mean(n.saturating_sub(20), n + 10)
                && value > highest(n.saturating_sub(apart), n)
                && value >= highest(n + 1, n + apart + 1)
        })
        .collect()
}

/// How much each band rises, by frame.
fn flux(channels: &[Vec<f64>], rate_hz: f64, hop: usize) -> Vec<Vec<f64>> {
    let length = 1 << (libm::log2(WINDOW_S * rate_hz).round().max(5.0) as usize);
    let mut planner = RealFftPlanner::<f64>::new();
    let fft = planner.plan_fft_forward(length);
    let mut spectrum = fft.make_output_vec();
    let mut frame = vec![0.0; length];
    let frames = channels.first().map_or(0, Vec::len);
    let rows: Vec<Vec<f64>> = (0..frames / hop)
        .map(|index| {
            let mut power = vec![0.0; length / 2 + 1];
            for channel in channels {
                for (n, value) in frame.iter_mut().enumerate() {
                    let window =
                        0.5 - 0.5 * libm::cos(std::f64::consts::TAU * n as f64 / length as f64);
                    let place = (index * hop + n).checked_sub(length / 2);
                    *value = place.and_then(|place| channel.get(place)).unwrap_or(&0.0) * window;
                }
                let _ = fft.process(&mut frame, &mut spectrum);
                for (sum, value) in power.iter_mut().zip(&spectrum) {
                    *sum += value.norm_sqr();
                }
            }
            power
        })
        .collect();
    let count = (rows.len() * (length / 2 + 1)).max(1) as f64;
    let mean = rows.iter().flatten().map(|power| power.sqrt()).sum::<f64>() / count;
    let rows: Vec<Vec<f64>> = rows
        .iter()
        .map(|row| {
            row.iter()
                .map(|power| libm::log10(1.0 + power.sqrt() / (mean + 1e-12)))
                .collect()
        })
        .collect();
    let bin_hz = rate_hz / length as f64;
    let edges: Vec<usize> = BAND_EDGES_HZ
        .iter()
        .map(|hz| (hz / bin_hz).round() as usize)
        .collect();
    edges
        .iter()
        .zip(edges.iter().skip(1))
        .map(|(&from, &to)| {
            let (from, to) = (from.max(1), to.min(length / 2).max(from + 1));
            let none = std::iter::repeat_n(0.0, LAG);
            let pairs = rows.iter().zip(rows.iter().skip(LAG));
            none.chain(pairs.map(|(before, now)| rise(before, now, from, to)))
                .collect()
        })
        .collect()
}

/// The mean rise of the bins in a band, over the highest neighbour before.
fn rise(before: &[f64], now: &[f64], from: usize, to: usize) -> f64 {
    let past = before
        .windows(3)
        .map(|near| near.iter().copied().fold(0.0, f64::max));
    let bins = now.iter().skip(1).zip(past).skip(from - 1).take(to - from);
    bins.map(|(now, past)| (now - past).max(0.0)).sum::<f64>() / (to - from) as f64
}
