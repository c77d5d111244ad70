//! One resolution of the meter: windows of both channels into powers of bands.

use std::sync::Arc;

use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlanner};

use crate::bands::EDGES_HZ;
use crate::fold::Cell;

/// A window, its transform, and where its bins go.
pub(crate) struct Path {
    fft: Arc<dyn Fft<f32>>,
    pub(crate) window: Vec<f32>,
    buffer: Vec<Complex32>,
    scratch: Vec<Complex32>,
    /// First bin and shares of bins of every band.
    pub(crate) bands: Vec<(usize, usize, Vec<f32>)>,
    scale: f32,
}

impl Path {
    pub(crate) fn new(
        planner: &mut FftPlanner<f32>,
        length: usize,
        fft_length: usize,
        rate_hz: f64,
        bands: std::ops::Range<usize>,
    ) -> Self {
        let window: Vec<f32> = (0..length)
            .map(|n| {
                let phase = std::f64::consts::TAU * (n as f64 + 0.5) / length as f64;
                (0.5 - 0.5 * phase.cos()) as f32
            })
            .collect();
        let fft = planner.plan_fft_forward(fft_length);
        let energy: f32 = window.iter().map(|w| w * w).sum();
        let bin_hz = rate_hz / fft_length as f64;
        let bands = bands
            .map(|band| {
                let low = EDGES_HZ[band] / bin_hz + 0.5;
                let high = (EDGES_HZ[band + 1] / bin_hz + 0.5).min(fft_length as f64 / 2.0 - 1.0);
                let first = low.floor() as usize;
                let end = (high.ceil() as usize).max(first);
                let shares = (first..end)
                    .map(|bin| (high.min(bin as f64 + 1.0) - low.max(bin as f64)).max(0.0) as f32)
                    .collect();
                (first, end, shares)
            })
            .collect();
        Self {
            scratch: vec![Complex32::default(); fft.get_inplace_scratch_len()],
            fft,
            window,
            buffer: vec![Complex32::default(); fft_length],
            bands,
            // mean square of a two-sided spectrum, both halves
            scale: 2.0 / (energy * fft_length as f32),
        }
    }

    pub(crate) fn run(&mut self, input: &[Complex32]) {
        for ((out, x), w) in self.buffer.iter_mut().zip(input).zip(&self.window) {
            *out = x * w;
        }
        self.buffer[self.window.len()..].fill(Complex32::default());
        self.fft
            .process_with_scratch(&mut self.buffer, &mut self.scratch);
    }

    /// Powers of left plus right, right minus left, and their product, of a band.
    pub(crate) fn cell(&self, band: usize) -> Cell {
        let (first, end, shares) = &self.bands[band];
        let length = self.buffer.len();
        let mut cell = Cell::default();
        for (bin, share) in (*first..*end).zip(shares) {
            // with z = l + i r: l = (a + b*) / 2, r = (a - b*) / 2i
            let (a, b) = (self.buffer[bin], self.buffer[length - bin.max(1)]);
            cell.sum += share * 0.5 * (a.norm_sqr() + b.norm_sqr());
            cell.difference -= share * (a.re * b.re - a.im * b.im);
            cell.cross += share * 0.5 * (a.re * b.im + a.im * b.re);
        }
        cell.sum *= self.scale;
        cell.difference *= self.scale;
        cell.cross *= self.scale;
        cell
    }
}
