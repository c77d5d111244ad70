//! The reference: rendered, summed in part order and mastered.

use rayon::prelude::*;

use crate::balance::Balance;
use crate::master::master;
use crate::rng::Rng;
use crate::samples::Samples;
use crate::session::Progress;
use crate::settings::DemoSettings;
use crate::song::{Song, micro};
use crate::sums::{CHUNK, amplitude_db, hundredth, levelled};
use crate::truth::MixTruth;

/// A mastered reference.
#[derive(Clone, Debug)]
pub struct Record {
    /// Left and right.
    pub samples: [Vec<f64>; 2],
    /// Rate.
    pub sample_rate_hz: u32,
    pub(crate) mix: MixTruth,
}

/// Renders, sums and masters the reference.
pub(crate) fn record(settings: &DemoSettings, song: &Song, progress: Progress<'_>) -> Record {
    let rate = f64::from(song.sample_rate_hz);
    let balance = Balance::draw(settings);
    let mut mix = [vec![0.0; song.frames()], vec![0.0; song.frames()]];
    let parts: Vec<usize> = (0..song.parts.len()).collect();
    // a few parts at a time bound the memory; the sum is in part order
    for few in parts.chunks(4) {
        progress(few[0] as f64 / parts.len() as f64, "reference");
        let made: Vec<Samples> = few
            .par_iter()
            .map(|&index| levelled(song, index, &balance))
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
    }
    progress(0.95, "mastering");
    let target_lufs = -9.0 + Rng::labelled(song.seed, "master").between(-0.3, 0.3);
    let lufs_i = master(&mut mix, target_lufs, rate);
    let peak = mix
        .iter()
        .flatten()
        .fold(0.0f64, |peak, x| peak.max(x.abs()));
    Record {
        mix: MixTruth {
            lufs_i: lufs_i.map(hundredth),
            sample_peak_dbfs: hundredth(amplitude_db(peak)),
            seconds: micro(song.frames() as f64 / rate),
        },
        samples: mix,
        sample_rate_hz: song.sample_rate_hz,
    }
}
