//! Power spectra of overlapping frames, for one or two channels.
//!
//! Frames overlap by three quarters under a periodic Hann window, whose squares
//! then add up to 3/2 everywhere (windows: Harris, Proc. IEEE 66(1), 1978). The
//! stream is padded with zeros on both ends, so that every sample lies in four
//! frames, and the frames' powers add up to the energy of the samples, wherever
//! an event falls.

use crate::frame_powers::{PowerSums, Powers};
use crate::mono_transform::MonoTransform;
use crate::stereo_transform::StereoTransform;
use std::f64::consts::PI;

/// Frames that share a sample.
pub(crate) const OVERLAP: usize = 4;
const SQUARED_WINDOW_SUM: f64 = 1.5;
/// Hops written behind one another before the history moves to the front.
const HOPS_A_MOVE: usize = 16;

enum Transform {
    Mono(MonoTransform),
    Stereo(StereoTransform),
}

pub(crate) struct FrameSpectrum {
    hop: usize,
    window: Vec<f32>,
    /// Samples of each channel; the frame ends at `filled`.
    history: Vec<Vec<f32>>,
    filled: usize,
    transform: Transform,
    frame: Powers<f32>,
    sums: PowerSums,
}

impl FrameSpectrum {
    /// `hop` samples between frames of four times that length.
    pub fn new(hop: usize, channels: usize) -> Self {
        let size = hop * OVERLAP;
        let bins = size / 2 + 1;
        Self {
            hop,
            window: scaled_hann(size, hop),
            history: vec![vec![0.0; (OVERLAP - 1 + HOPS_A_MOVE) * hop]; channels],
            filled: (OVERLAP - 1) * hop,
            transform: if channels == 2 {
                Transform::Stereo(StereoTransform::new(size))
            } else {
                Transform::Mono(MonoTransform::new(size))
            },
            frame: Powers::new(bins, channels),
            sums: PowerSums::new(bins, channels),
        }
    }

    /// Takes the next `hop` samples of each channel and gives the powers of the
    /// frame that ends with them: the sum over its bins is the frame's share of
    /// the mean square over one hop.
    pub fn push_hop(&mut self, channels: &[&[f32]]) -> &Powers<f32> {
        self.append(channels);
        let range = self.filled - OVERLAP * self.hop..self.filled;
        let left = &self.history[0][range.clone()];
        match &mut self.transform {
            Transform::Mono(mono) => mono.powers(left, &self.window, &mut self.frame),
            Transform::Stereo(stereo) => {
                let right = &self.history[1][range];
                stereo.powers(left, right, &self.window, &mut self.frame);
            }
        }
        self.sums.add(&mut self.frame);
        &self.frame
    }

    fn append(&mut self, channels: &[&[f32]]) {
        let kept = (OVERLAP - 1) * self.hop;
        if self.filled == self.history[0].len() {
            for history in &mut self.history {
                history.copy_within(self.filled - kept.., 0);
            }
            self.filled = kept;
        }
        let end = self.filled + self.hop;
        for (history, samples) in self.history.iter_mut().zip(channels) {
            history[self.filled..end].copy_from_slice(samples);
        }
        self.filled = end;
    }

    /// The powers of all frames added up; times `hop`, the energy of all
    /// samples.
    pub fn finish(self) -> Powers<f64> {
        self.sums.finish()
    }
}

/// A Hann window scaled so that twice the squared magnitudes of the lower half
/// of the bins are shares of the mean square over one hop, less the factor of
/// two in amplitude that the transforms bring.
fn scaled_hann(size: usize, hop: usize) -> Vec<f32> {
    let scale = 0.5 * (2.0 / (size as f64 * SQUARED_WINDOW_SUM * hop as f64)).sqrt();
    (0..size)
        .map(|n| (scale * (0.5 - 0.5 * (2.0 * PI * n as f64 / size as f64).cos())) as f32)
        .collect()
}
