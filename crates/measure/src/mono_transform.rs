//! One channel through a real transform.

use crate::frame_powers::Powers;
use crate::wide::wide;
use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};
use std::sync::Arc;

pub(crate) struct MonoTransform {
    fft: Arc<dyn RealToComplex<f32>>,
    input: Vec<f32>,
    output: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl MonoTransform {
    pub fn new(size: usize) -> Self {
        let fft = RealFftPlanner::new().plan_fft_forward(size);
        Self {
            input: fft.make_input_vec(),
            output: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Powers of one frame; `window` times a half gives amplitudes.
    pub fn powers(&mut self, samples: &[f32], window: &[f32], out: &mut Powers<f32>) {
        weigh(samples, window, &mut self.input);
        // The only errors are wrong buffer lengths, and the plan made these.
        let done =
            self.fft
                .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch);
        debug_assert!(done.is_ok());
        square(&self.output, &mut out.left);
        let last = out.left.len() - 1;
        // These two bins stand once in a spectrum, all others twice.
        out.left[0] *= 0.5;
        out.left[last] *= 0.5;
    }
}

wide! {
    fn weigh(samples: &[f32], window: &[f32], out: &mut [f32]) {
        for ((out, x), w) in out.iter_mut().zip(samples).zip(window) {
            *out = 2.0 * x * w;
        }
    }
}

wide! {
    fn square(spectrum: &[Complex32], out: &mut [f32]) {
        for (out, x) in out.iter_mut().zip(spectrum) {
            *out = x.re * x.re + x.im * x.im;
        }
    }
}
