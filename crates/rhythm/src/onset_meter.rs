//! The streaming meter of onsets.

use crate::low_spectrum::LowSpectrum;
use crate::onset_bands::{BANDS, OnsetBands};
use crate::onset_curve::{LogCodes, OnsetCurve, StoredHit, rise_code};
use crate::onset_hits::find_hits;

/// Fine hops in a hop of the curve.
const FINE_PER_HOP: usize = 4;
/// Power, against the band's mean, below which a rise says nothing.
const FLOOR: f64 = 0.004;

/// Streaming onset meter; opens no files, starts no threads.
///
/// The result does not depend on how the stream is cut.
#[derive(Clone, Debug)]
pub struct OnsetMeter {
    bands: OnsetBands,
    sample_rate_hz: f64,
    channels: usize,
    frames: u64,
}

impl OnsetMeter {
    /// A meter for one file: `sample_rate_hz` > 0, `channels` as in the file. Of
    /// more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        let sample_rate_hz = f64::from(sample_rate_hz.max(1));
        Self {
            bands: OnsetBands::new(sample_rate_hz),
            sample_rate_hz,
            channels,
            frames: 0,
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale; samples that are not
    /// finite play as silence. Blocks with fewer channels than promised repeat
    /// their last one; a block without channels is nothing.
    pub fn push(&mut self, block: &[&[f64]]) {
        let heard = block.len().min(self.channels.clamp(1, 2));
        let Some(&left) = block.first() else { return };
        let right = if heard > 1 { block[1] } else { left };
        let frames = left.len().min(right.len());
        self.frames += frames as u64;
        self.bands.push(&left[..frames], &right[..frames]);
    }

    /// The curve of everything that was pushed.
    pub fn finish(mut self) -> OnsetCurve {
        self.bands.finish();
        let fine_hop_s = self.bands.fine_hop() as f64 / self.sample_rate_hz;
        let coarse: [Vec<f32>; BANDS] =
            std::array::from_fn(|band| coarse(&self.bands.powers[band]));
        let rises: [Vec<f32>; BANDS] = std::array::from_fn(|band| {
            let smooth = if band == 0 { 4 } else { 2 };
            rises(&coarse[band], smooth)
        });
        let hits = find_hits(&rises, &self.bands.powers, FINE_PER_HOP, fine_hop_s);
        OnsetCurve {
            hop_s: fine_hop_s * FINE_PER_HOP as f64,
            seconds: self.frames as f64 / self.sample_rate_hz,
            edges_hz: self.bands.edges_hz(),
            powers: coarse.map(|powers| LogCodes::of(&powers)),
            rises: rises.map(|rises| rises.iter().map(|&rise| rise_code(rise)).collect()),
            hits: StoredHit::all(&hits),
            harmony: LowSpectrum::of(&self.bands.slow_signal, self.bands.slow_rate_hz()),
        }
    }
}

fn coarse(fine: &[f32]) -> Vec<f32> {
    fine.chunks(FINE_PER_HOP)
        .map(|hops| hops.iter().sum::<f32>() / FINE_PER_HOP as f32)
        .collect()
}

/// Rise from the `smooth` hops before to the `smooth` hops from here on.
fn rises(powers: &[f32], smooth: usize) -> Vec<f32> {
    let count = powers.len().max(1) as f64;
    let mean = powers.iter().map(|&p| f64::from(p)).sum::<f64>() / count;
    let floor = (FLOOR * mean).max(1e-12) as f32;
    let at = |index: isize| -> f32 {
        let from = index.max(0) as usize;
        let to = (index + smooth as isize).clamp(0, powers.len() as isize) as usize;
        powers[from.min(to)..to].iter().sum::<f32>() / smooth as f32
    };
    let logs: Vec<f32> = (-(smooth as isize)..powers.len() as isize)
        .map(|index| (at(index) + floor).ln())
        .collect();
    logs.iter()
        .zip(&logs[smooth..])
        .map(|(before, after)| (after - before).max(0.0))
        .collect()
}
