//! The spectral part of the pass: critical bands over time and the long-term
//! spectrum.

use crate::critical_bands::{BandFrameWriter, BandFrames};
use crate::decimator::Decimator;
use crate::frame_powers::Powers;
use crate::frame_spectrum::{FrameSpectrum, OVERLAP};
use crate::long_term::{BinPowers, LongTerm};

const REFERENCE_RATE_HZ: f64 = 48_000.0;
const REFERENCE_HOP: usize = 1024;
const REFERENCE_FACTOR: usize = 16;
/// Hop of the decimated frames, in decimated samples.
const LOW_HOP: usize = 1024;

/// Frame sizes at one sample rate: those of 48 kHz, doubled or halved with the
/// rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sizes {
    pub hop: usize,
    pub factor: usize,
}

impl Sizes {
    pub fn new(sample_rate_hz: u32) -> Self {
        let octaves = (f64::from(sample_rate_hz) / REFERENCE_RATE_HZ)
            .log2()
            .round() as i32;
        let scale = |size: usize| {
            if octaves < 0 {
                size >> octaves.unsigned_abs().min(3)
            } else {
                size << octaves.min(4)
            }
        };
        Self {
            hop: scale(REFERENCE_HOP),
            factor: scale(REFERENCE_FACTOR),
        }
    }
}

pub(crate) struct Spectrum {
    sample_rate_hz: u32,
    sizes: Sizes,
    full: FrameSpectrum,
    bands: BandFrameWriter,
    low: LowPath,
}

struct LowPath {
    decimators: Vec<Decimator>,
    samples: Vec<Vec<f32>>,
    frames: FrameSpectrum,
}

impl LowPath {
    fn push(&mut self, channels: &[&[f32]]) {
        for (side, block) in channels.iter().enumerate() {
            self.decimators[side].process(block, &mut self.samples[side]);
        }
        if self.samples[0].len() >= LOW_HOP {
            self.push_frame();
        }
    }

    fn push_frame(&mut self) {
        for side in &mut self.samples {
            side.resize(LOW_HOP, 0.0);
        }
        let sides: Vec<&[f32]> = self.samples.iter().map(|side| &side[..]).collect();
        self.frames.push_hop(&sides);
        self.samples.iter_mut().for_each(Vec::clear);
    }

    fn finish(mut self) -> (Powers<f64>, Vec<Decimator>) {
        for _ in 0..OVERLAP {
            self.push_frame();
        }
        (self.frames.finish(), self.decimators)
    }
}

/// What the spectral part found.
pub(crate) struct Spectra {
    pub bands: BandFrames,
    pub long_term: LongTerm,
}

impl Spectrum {
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        let sizes = Sizes::new(sample_rate_hz);
        Self {
            sample_rate_hz,
            sizes,
            full: FrameSpectrum::new(sizes.hop, channels),
            bands: BandFrameWriter::new(sample_rate_hz, sizes.hop, OVERLAP * sizes.hop),
            low: LowPath {
                decimators: vec![Decimator::new(sizes.factor); channels],
                samples: vec![Vec::with_capacity(LOW_HOP); channels],
                frames: FrameSpectrum::new(LOW_HOP, channels),
            },
        }
    }

    /// Keeps no critical bands from here on.
    pub fn discard_bands(&mut self) {
        self.bands.discard();
    }

    /// The critical bands since the last call.
    pub fn take_bands(&mut self) -> BandFrames {
        self.bands.take()
    }

    /// Takes the next hop of every channel, padded with zeros at the end.
    pub fn push(&mut self, channels: &[&[f32]]) {
        self.bands.push(self.full.push_hop(channels));
        self.low.push(channels);
    }

    /// Ends the stream after `frames` real frames.
    pub fn finish(mut self, frames: u64, channels: usize) -> Spectra {
        let silence = vec![0.0; self.sizes.hop];
        if frames > 0 {
            for _ in 0..OVERLAP - 1 {
                self.push(&vec![&silence[..]; channels]);
            }
        }
        let rate = f64::from(self.sample_rate_hz);
        let count = frames.max(1) as f64;
        let low_rate = rate / self.sizes.factor as f64;
        let low_width = low_rate / (LOW_HOP * OVERLAP) as f64;
        let (low, decimators) = self.low.finish();
        let low_scale = (LOW_HOP * self.sizes.factor) as f64 / count;
        let high_width = rate / (self.sizes.hop * OVERLAP) as f64;
        let low_gains: Vec<f64> = (0..low.left.len())
            .map(|bin| low_scale / decimators[0].power_gain(bin as f64 * low_width / rate))
            .collect();
        Spectra {
            bands: self.bands.finish(),
            long_term: LongTerm {
                low: BinPowers {
                    width_hz: low_width,
                    powers: scaled(low, |bin| low_gains[bin]),
                },
                high: BinPowers {
                    width_hz: high_width,
                    powers: scaled(self.full.finish(), |_| self.sizes.hop as f64 / count),
                },
                nyquist_hz: rate / 2.0,
            },
        }
    }
}

fn scaled(mut powers: Powers<f64>, factor: impl Fn(usize) -> f64) -> Powers<f64> {
    for part in [&mut powers.left, &mut powers.right, &mut powers.cross] {
        for (bin, power) in part.iter_mut().enumerate() {
            *power *= factor(bin);
        }
    }
    powers
}
