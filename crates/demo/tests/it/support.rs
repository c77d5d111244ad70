//! What the tests share.

use std::path::Path;

use cupel_audio::{Planar, Reader};
use cupel_demo::{DemoSettings, Samples, Session};

/// A short session, so that many can be made.
pub fn short(seed: u64) -> DemoSettings {
    DemoSettings {
        seed,
        seconds: 30.0,
        ..DemoSettings::default()
    }
}

/// All samples of one channel.
pub fn channel(samples: &Samples, channel: usize) -> Vec<f64> {
    let mut out = vec![0.0; samples.frames()];
    samples.read(channel, 0, &mut out);
    out
}

/// The true mix: tracks with offset and gain of their mistakes taken away, summed
/// on both sides. A tail cut off stays lost.
pub fn true_mix(session: &Session) -> [Vec<f64>; 2] {
    [0, 1].map(|side| {
        let mut sum = Vec::new();
        for (track, truth) in session.tracks.iter().zip(&session.truth.tracks) {
            let own = session.truth.faults.iter();
            let offset: f64 = own
                .filter(|fault| fault.track.as_deref() == Some(&track.file))
                .filter_map(|fault| fault.offset_linear)
                .sum();
            let undo = 10f64.powf(-truth.mistake_db / 20.0);
            let wave = channel(&track.samples, side);
            sum.resize(wave.len().max(sum.len()), 0.0);
            for (sum, x) in sum.iter_mut().zip(wave) {
                *sum += undo * (x - offset);
            }
        }
        sum
    })
}

pub fn peak_dbfs(channels: &[Vec<f64>]) -> f64 {
    let peak = channels
        .iter()
        .flatten()
        .fold(0.0f64, |p, x| p.max(x.abs()));
    20.0 * peak.log10()
}

/// A whole file: one vector a channel, and its rate.
pub fn read_file(path: &Path) -> (Vec<Vec<f64>>, u32) {
    let mut reader = Reader::open(path).unwrap();
    let rate = reader.info().sample_rate_hz;
    let channels = reader.info().channels;
    let mut block = Planar::new(channels, 0);
    let mut out = vec![Vec::new(); channels];
    while reader.read(&mut block, 65_536).unwrap() > 0 {
        for (out, channel) in out.iter_mut().zip(&block.channels) {
            out.extend_from_slice(channel);
        }
    }
    (out, rate)
}
