//! The reference: rendered, summed in part order and mastered.

use rayon::prelude::*;

use crate::balance::Balance;
use crate::layer_truth::layer;
use crate::loudness::Loudness;
use crate::master::master;
use crate::rng::Rng;
use crate::samples::Samples;
use crate::session::Progress;
use crate::settings::DemoSettings;
use crate::song::{Song, micro};
use crate::sums::{CHUNK, amplitude_db, hundredth, levelled};
use crate::truth::{BarTruth, LayerTruth, MixTruth};

/// A finished mix: a mastered reference, or one made alone.
#[derive(Clone, Debug)]
pub struct Record {
    /// Left and right; 1.0 is full scale.
    pub samples: [Vec<f64>; 2],
    /// Rate.
    pub sample_rate_hz: u32,
    pub(crate) mix: MixTruth,
    pub(crate) layers: Vec<LayerTruth>,
    pub(crate) bars: Vec<BarTruth>,
}

/// Renders the parts at their levels and sums them in part order. `read` sees each.
pub(crate) fn sum_parts(
    song: &Song,
    balance: &Balance,
    read: &mut dyn FnMut(usize, &Samples),
    progress: Progress<'_>,
) -> [Vec<f64>; 2] {
    let mut mix = [vec![0.0; song.frames()], vec![0.0; song.frames()]];
    let parts: Vec<usize> = (0..song.parts.len()).collect();
    // a few parts at a time bound the memory
    for few in parts.chunks(4) {
        progress(few[0] as f64 / parts.len() as f64, "reference");
        let made: Vec<Samples> = few
            .par_iter()
            .map(|&index| levelled(song, index, balance))
            .collect();
        mix.par_iter_mut().enumerate().for_each(|(channel, mix)| {
            let mut block = vec![0.0; CHUNK];
            for samples in &made {
                for (chunk, out) in mix.chunks_mut(CHUNK).enumerate() {
                    samples.read(channel, chunk * CHUNK, &mut block[..out.len()]);
                    out.iter_mut().zip(&block).for_each(|(sum, x)| *sum += x);
                }
            }
        });
        for (index, samples) in few.iter().zip(&made) {
            read(*index, samples);
        }
    }
    mix
}

/// Renders, sums and masters the reference.
pub(crate) fn record(settings: &DemoSettings, song: &Song, progress: Progress<'_>) -> Record {
    let rate = f64::from(song.sample_rate_hz);
    let mut layers = Vec::new();
    let mut read = |index: usize, samples: &Samples| {
        layers.extend(layer(song, &song.parts[index], samples));
    };
    let mut mix = sum_parts(song, &Balance::draw(settings), &mut read, progress);
    progress(0.95, "mastering");
    let target_lufs = -9.0 + Rng::labelled(song.seed, "master").between(-0.3, 0.3);
    let lufs_i = master(&mut mix, target_lufs, rate);
    let peak = mix
        .iter()
        .flatten()
        .fold(0.0f64, |peak, x| peak.max(x.abs()));
    let mut meter = Loudness::new(rate);
    meter.push(&mix[0], &mix[1]);
    Record {
        bars: song.bars(&meter),
        layers,
        mix: MixTruth {
            lufs_i: lufs_i.map(hundredth),
            sample_peak_dbfs: hundredth(amplitude_db(peak)),
            seconds: micro(song.frames() as f64 / rate),
        },
        samples: mix,
        sample_rate_hz: song.sample_rate_hz,
    }
}
