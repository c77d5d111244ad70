//! Power spectra of overlapping frames, for one or two channels.
//!
//! Frames overlap by three quarters under a periodic Hann window, whose squares
//! then add up to 3/2 everywhere (spectrum of windows: Harris, Proc. IEEE 66(1),
//! 1978). The stream is padded with zeros on both ends, so that every sample
//! lies in four frames, and the frames' powers add up to the energy of the
//! samples, wherever an event falls.

use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};
use std::f64::consts::PI;
use std::sync::Arc;

/// Frames that share a sample.
pub(crate) const OVERLAP: usize = 4;
const SQUARED_WINDOW_SUM: f64 = 1.5;
/// Frames added in single precision before they go to double precision.
const FRAMES_A_FLUSH: usize = 16;

/// Powers of the bins: left, right and left times right (real part).
#[derive(Clone, Debug, Default)]
pub(crate) struct Powers<T> {
    pub left: Vec<T>,
    pub right: Vec<T>,
    pub cross: Vec<T>,
}

impl<T: Copy + Default> Powers<T> {
    fn new(bins: usize, channels: usize) -> Self {
        let second = if channels == 2 { bins } else { 0 };
        Self {
            left: vec![T::default(); bins],
            right: vec![T::default(); second],
            cross: vec![T::default(); second],
        }
    }

    fn parts(&mut self) -> [&mut Vec<T>; 3] {
        [&mut self.left, &mut self.right, &mut self.cross]
    }
}

pub(crate) struct FrameSpectrum {
    hop: usize,
    fft: Arc<dyn RealToComplex<f32>>,
    window: Vec<f32>,
    /// The last `OVERLAP * hop` samples of each channel.
    history: Vec<Vec<f32>>,
    windowed: Vec<f32>,
    spectra: Vec<Vec<Complex32>>,
    scratch: Vec<Complex32>,
    frame: Powers<f32>,
    pending: Powers<f32>,
    pending_frames: usize,
    total: Powers<f64>,
}

impl FrameSpectrum {
    /// `hop` samples between frames of four times that length.
    pub fn new(hop: usize, channels: usize) -> Self {
        let size = hop * OVERLAP;
        let fft = RealFftPlanner::<f32>::new().plan_fft_forward(size);
        let bins = size / 2 + 1;
        Self {
            hop,
            window: scaled_hann(size, hop),
            history: vec![vec![0.0; size]; channels],
            windowed: fft.make_input_vec(),
            spectra: vec![fft.make_output_vec(); channels],
            scratch: fft.make_scratch_vec(),
            frame: Powers::new(bins, channels),
            pending: Powers::new(bins, channels),
            pending_frames: 0,
            total: Powers::new(bins, channels),
            fft,
        }
    }

    /// Takes the next `hop` samples of each channel and gives the powers of the
    /// frame that ends with them: the sum over its bins is the frame's share of
    /// the mean square over one hop.
    pub fn push_hop(&mut self, channels: &[&[f32]]) -> &Powers<f32> {
        for (side, samples) in channels.iter().enumerate() {
            let history = &mut self.history[side];
            history.copy_within(self.hop.., 0);
            let start = history.len() - self.hop;
            history[start..].copy_from_slice(samples);
            self.transform(side);
        }
        self.take_powers();
        self.pending_frames += 1;
        if self.pending_frames == FRAMES_A_FLUSH {
            self.flush();
        }
        &self.frame
    }

    fn transform(&mut self, side: usize) {
        let samples = self.history[side].iter().zip(&self.window);
        for (out, (sample, window)) in self.windowed.iter_mut().zip(samples) {
            *out = sample * window;
        }
        let spectrum = &mut self.spectra[side];
        // The only errors are wrong buffer lengths, and the plan made these.
        let done = self
            .fft
            .process_with_scratch(&mut self.windowed, spectrum, &mut self.scratch);
        debug_assert!(done.is_ok());
    }

    fn take_powers(&mut self) {
        match &self.spectra[..] {
            [left, right] => stereo_powers(left, right, &mut self.frame, &mut self.pending),
            [left] => mono_powers(left, &mut self.frame.left, &mut self.pending.left),
            _ => {}
        }
    }

    fn flush(&mut self) {
        for (total, pending) in self.total.parts().into_iter().zip(self.pending.parts()) {
            for (sum, power) in total.iter_mut().zip(pending) {
                *sum += f64::from(std::mem::take(power));
            }
        }
        self.pending_frames = 0;
    }

    /// The powers of all frames added up; times `hop`, the energy of all
    /// samples.
    pub fn finish(mut self) -> Powers<f64> {
        self.flush();
        self.total
    }
}

/// A Hann window scaled so that the squared magnitudes of the upper half of the
/// bins are shares of the mean square over one hop.
fn scaled_hann(size: usize, hop: usize) -> Vec<f32> {
    let scale = (2.0 / (size as f64 * SQUARED_WINDOW_SUM * hop as f64)).sqrt();
    (0..size)
        .map(|n| (scale * (0.5 - 0.5 * (2.0 * PI * n as f64 / size as f64).cos())) as f32)
        .collect()
}

/// Bins 0 and Nyquist stand once in a spectrum, all others twice.
fn share(bin: usize, bins: usize) -> f32 {
    if bin == 0 || bin == bins - 1 {
        0.5
    } else {
        1.0
    }
}

fn mono_powers(spectrum: &[Complex32], frame: &mut [f32], pending: &mut [f32]) {
    for (power, value) in frame.iter_mut().zip(spectrum) {
        *power = value.re * value.re + value.im * value.im;
    }
    let bins = frame.len();
    for bin in [0, bins - 1] {
        frame[bin] *= share(bin, bins);
    }
    add(pending, frame);
}

fn stereo_powers(
    left: &[Complex32],
    right: &[Complex32],
    frame: &mut Powers<f32>,
    pending: &mut Powers<f32>,
) {
    let sums = frame
        .left
        .iter_mut()
        .zip(&mut frame.right)
        .zip(&mut frame.cross);
    for (((ll, rr), lr), (l, r)) in sums.zip(left.iter().zip(right)) {
        *ll = l.re * l.re + l.im * l.im;
        *rr = r.re * r.re + r.im * r.im;
        *lr = l.re * r.re + l.im * r.im;
    }
    let bins = frame.left.len();
    for (powers, pending) in frame.parts().into_iter().zip(pending.parts()) {
        for bin in [0, bins - 1] {
            powers[bin] *= share(bin, bins);
        }
        add(pending, powers);
    }
}

fn add(sums: &mut [f32], powers: &[f32]) {
    for (sum, power) in sums.iter_mut().zip(powers) {
        *sum += power;
    }
}
