//! Onsets of a passage, rather too many than too few.
//!
//! An onset too many costs little: tones go on across it. Spectral flux with a
//! maximum over neighbouring bins: S. Böck and G. Widmer, "Maximum Filter Vibrato
//! Suppression for Onset Detection", DAFx 2013.

use realfft::RealFftPlanner;

/// Length of a frame and the step between frames, in seconds.
const WINDOW_S: f64 = 0.023;
const HOP_S: f64 = 0.005;

/// Flux is counted in bands of this many octaves.
const BAND_EDGES_HZ: [f64; 7] = [30.0, 150.0, 400.0, 1000.0, 2500.0, 6000.0, 16_000.0];

/// A band's mean rise over the frames before that makes an onset, in units of the
/// compressed magnitude.
const RISE: f64 = 0.10;

/// An onset is the highest within this time to both sides, in seconds.
const APART_S: f64 = 0.025;

/// Places of onsets in `channels`, in frames, rising.
pub(crate) fn find(channels: &[Vec<f64>], rate_hz: f64) -> Vec<f64> {
    let hop = (HOP_S * rate_hz).max(1.0) as usize;
    let flux = flux(channels, rate_hz, hop);
    let apart = (APART_S / HOP_S) as usize;
    let mean = |from: usize, to: usize| {
        let part = flux.get(from..to.min(flux.len())).unwrap_or(&[]);
        part.iter().sum::<f64>() / part.len().max(1) as f64
    };
    (0..flux.len())
        .filter(|&n| {
            let near = n.saturating_sub(apart)..(n + apart + 1).min(flux.len());
            let value = flux[n];
            value > RISE + 1.3 * mean(n.saturating_sub(20), n + 10)
                && near
                    .clone()
                    .all(|m| flux[m] < value || (m >= n && flux[m] <= value))
        })
        .map(|n| (n * hop) as f64)
        .collect()
}

/// By frame, the rise of the band that rises most, with half of all others.
fn flux(channels: &[Vec<f64>], rate_hz: f64, hop: usize) -> Vec<f64> {
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
    (0..rows.len())
        .map(|n| {
            n.checked_sub(3)
                .map_or(0.0, |before| rise(&rows[before], &rows[n], &edges))
        })
        .collect()
}

fn rise(before: &[f64], now: &[f64], edges: &[usize]) -> f64 {
    let bands = edges.iter().zip(edges.iter().skip(1)).map(|(&from, &to)| {
        let to = to.min(now.len() - 1).max(from + 1);
        let sum: f64 = (from.max(1)..to)
            .map(|bin| {
                let past = before
                    .get(bin - 1..bin + 2)
                    .unwrap_or(&[])
                    .iter()
                    .copied()
                    .fold(0.0, f64::max);
                (now.get(bin).copied().unwrap_or(0.0) - past).max(0.0)
            })
            .sum();
        sum / (to - from.max(1)).max(1) as f64
    });
    bands
        .fold((0.0_f64, 0.0), |(most, sum), band| {
            (most.max(band), sum + band)
        })
        .0
}
