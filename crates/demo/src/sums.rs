//! Sums of tracks, their levels and the loudness of single ones.

use rayon::prelude::*;

use crate::balance::Balance;
use crate::loudness::Loudness;
use crate::samples::Samples;
use crate::session::Track;
use crate::song::{Song, micro, synthesise};
use crate::truth::MixTruth;

pub(crate) const CHUNK: usize = 16_384;

/// The common line of the table of levels before the mix is scaled as a whole.
const LINE_LUFS: f64 = -20.0;

/// One part at its wanted loudness.
pub(crate) fn levelled(song: &Song, index: usize, balance: &Balance) -> Samples {
    let mut samples = synthesise(song, index);
    let role = song.parts[index].role;
    if let Some(lufs) = integrated_lufs(&samples, f64::from(song.sample_rate_hz)) {
        let gain_db = LINE_LUFS + balance.loudness_lu(role) - lufs;
        samples.scale(amplitude(gain_db), 0.0);
    }
    samples
}

/// Sum of all tracks, chunk by chunk, in track order.
pub(crate) fn each_sum(tracks: &[Track], mut take: impl FnMut(&[f64], &[f64])) {
    let frames = longest(tracks);
    let mut block = vec![0.0; CHUNK];
    for start in (0..frames).step_by(CHUNK) {
        let length = CHUNK.min(frames - start);
        let sides = [0, 1].map(|side| sum_block(tracks, side, start, &mut block[..length]));
        take(&sides[0], &sides[1]);
    }
}

fn sum_block(tracks: &[Track], side: usize, start: usize, block: &mut [f64]) -> Vec<f64> {
    let mut sum = vec![0.0; block.len()];
    for track in tracks {
        track.samples.read(side, start, block);
        sum.iter_mut()
            .zip(block.iter())
            .for_each(|(sum, x)| *sum += x);
    }
    sum
}

pub(crate) fn longest(tracks: &[Track]) -> usize {
    let lengths = tracks.iter().map(|track| track.samples.frames());
    lengths.max().unwrap_or(0)
}

pub(crate) fn sum_peak(tracks: &[Track]) -> f64 {
    let frames = longest(tracks);
    (0..frames.div_ceil(CHUNK))
        .into_par_iter()
        .map(|chunk| {
            let mut block = vec![0.0; CHUNK];
            [0, 1]
                .iter()
                .flat_map(|&side| sum_block(tracks, side, chunk * CHUNK, &mut block))
                .fold(0.0f64, |peak, x| peak.max(x.abs()))
        })
        .reduce(|| 0.0, f64::max)
}

/// Level and length of the sum, and its loudness over time.
pub(crate) fn measure_sum(tracks: &[Track], rate: f64) -> (MixTruth, Loudness) {
    let mut meter = Loudness::new(rate);
    let mut peak = 0.0f64;
    each_sum(tracks, |left, right| {
        meter.push(left, right);
        peak = left
            .iter()
            .chain(right)
            .fold(peak, |peak, x| peak.max(x.abs()));
    });
    let mix = MixTruth {
        lufs_i: meter.integrated_lufs().map(hundredth),
        sample_peak_dbfs: hundredth(amplitude_db(peak)),
        seconds: micro(longest(tracks) as f64 / rate),
    };
    (mix, meter)
}

pub(crate) fn integrated_lufs(samples: &Samples, rate: f64) -> Option<f64> {
    let mut meter = Loudness::new(rate);
    let (mut left, mut right) = (vec![0.0; CHUNK], vec![0.0; CHUNK]);
    for start in (0..samples.frames()).step_by(CHUNK) {
        let length = CHUNK.min(samples.frames() - start);
        samples.read(0, start, &mut left[..length]);
        samples.read(1, start, &mut right[..length]);
        meter.push(&left[..length], &right[..length]);
    }
    meter.integrated_lufs()
}

pub(crate) fn amplitude(db: f64) -> f64 {
    libm::pow(10.0, db / 20.0)
}

pub(crate) fn amplitude_db(amplitude: f64) -> f64 {
    20.0 * libm::log10(amplitude.max(1e-12))
}

pub(crate) fn hundredth(value: f64) -> f64 {
    libm::round(100.0 * value) / 100.0
}

pub(crate) fn tenth(value: f64) -> f64 {
    libm::round(10.0 * value) / 10.0
}
