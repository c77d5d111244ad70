//! Both sides through one complex transform.
//!
//! Left is the real part, right the imaginary one; the symmetries of spectra of
//! real signals part them again (Press et al., Numerical Recipes, 3rd edition,
//! section 12.3.1). In single precision each side shows in the other at about
//! -140 dB, which [`PairPower`](crate::pair_power::PairPower) takes for silence.

use crate::frame_powers::Powers;
use crate::wide::wide;
use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};
use std::sync::Arc;

const LANES: usize = 8;

pub(crate) struct StereoTransform {
    fft: Arc<dyn Fft<f32>>,
    input: Vec<Complex32>,
    output: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl StereoTransform {
    pub fn new(size: usize) -> Self {
        let fft = FftPlanner::new().plan_fft_forward(size);
        Self {
            input: vec![Complex32::default(); size],
            output: vec![Complex32::default(); size],
            scratch: vec![Complex32::default(); fft.get_outofplace_scratch_len()],
            fft,
        }
    }

    /// Powers of one frame; `window` times a half gives amplitudes.
    pub fn powers(&mut self, left: &[f32], right: &[f32], window: &[f32], out: &mut Powers<f32>) {
        weigh(left, right, window, &mut self.input);
        self.fft.process_outofplace_with_scratch(
            &mut self.input,
            &mut self.output,
            &mut self.scratch,
        );
        part(&self.output, &mut out.left, &mut out.right, &mut out.cross);
    }
}

wide! {
    fn weigh(left: &[f32], right: &[f32], window: &[f32], out: &mut [Complex32]) {
        for (((out, l), r), w) in out.iter_mut().zip(left).zip(right).zip(window) {
            *out = Complex32::new(l * w, r * w);
        }
    }
}

wide! {
    fn part(spectrum: &[Complex32], left: &mut [f32], right: &mut [f32], cross: &mut [f32]) {
        let size = spectrum.len();
        let half = size / 2;
        let (upper, lower) = (&spectrum[1..half], &spectrum[half + 1..]);
        let bins = (&mut left[1..half], &mut right[1..half], &mut cross[1..half]);
        let ends = upper.len() / LANES * LANES;
        for start in (0..ends).step_by(LANES) {
            let a: &[Complex32] = &upper[start..start + LANES];
            let last = lower.len() - start;
            let b: &[Complex32] = &lower[last - LANES..last];
            let a_re: [f32; LANES] = std::array::from_fn(|i| a[i].re);
            let a_im: [f32; LANES] = std::array::from_fn(|i| a[i].im);
            let b_re: [f32; LANES] = std::array::from_fn(|i| b[LANES - 1 - i].re);
            let b_im: [f32; LANES] = std::array::from_fn(|i| b[LANES - 1 - i].im);
            let ll = &mut bins.0[start..start + LANES];
            let rr = &mut bins.1[start..start + LANES];
            let lr = &mut bins.2[start..start + LANES];
            for i in 0..LANES {
                let (l_re, l_im) = (a_re[i] + b_re[i], a_im[i] - b_im[i]);
                let (r_re, r_im) = (a_im[i] + b_im[i], b_re[i] - a_re[i]);
                ll[i] = l_re * l_re + l_im * l_im;
                rr[i] = r_re * r_re + r_im * r_im;
                lr[i] = l_re * r_re + l_im * r_im;
            }
        }
        for i in ends..upper.len() {
            let (a, b) = (upper[i], lower[lower.len() - 1 - i]);
            let (l_re, l_im) = (a.re + b.re, a.im - b.im);
            let (r_re, r_im) = (a.im + b.im, b.re - a.re);
            bins.0[i] = l_re * l_re + l_im * l_im;
            bins.1[i] = r_re * r_re + r_im * r_im;
            bins.2[i] = l_re * r_re + l_im * r_im;
        }
        for k in [0, half] {
            // Both halves of the pair are this one bin, which stands once.
            let (l, r) = (2.0 * spectrum[k].re, 2.0 * spectrum[k].im);
            left[k] = 0.5 * l * l;
            right[k] = 0.5 * r * r;
            cross[k] = 0.5 * l * r;
        }
    }
}
