//! Spectra of windows, and how their bins fall into rows.

use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};

/// Transform of windows up to a length, padded with silence.
#[derive(Clone)]
pub(crate) struct Transform {
    fft: Arc<dyn RealToComplex<f32>>,
    scratch: Vec<Complex32>,
}

impl std::fmt::Debug for Transform {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "Transform({})", self.fft.len())
    }
}

impl Transform {
    /// A transform of at least `least` samples.
    pub(crate) fn new(least: usize) -> Self {
        let power = least.max(16).next_power_of_two();
        // 9/16, 5/8, 3/4 of a power of two are quick as well.
        let size = [power / 16 * 9, power / 4 * 3, power]
            .into_iter()
            .find(|&size| size >= least)
            .unwrap_or(power);
        let fft = RealFftPlanner::new().plan_fft_forward(size);
        let scratch = fft.make_scratch_vec();
        Self { fft, scratch }
    }

    pub(crate) fn size(&self) -> usize {
        self.fft.len()
    }

    pub(crate) fn bins(&self) -> usize {
        self.size() / 2 + 1
    }

    /// Spectrum of `samples` (overwritten) into `spectrum`; silence where the
    /// lengths do not fit.
    pub(crate) fn run(&mut self, samples: &mut [f32], spectrum: &mut [Complex32]) {
        let done = self
            .fft
            .process_with_scratch(samples, spectrum, &mut self.scratch);
        if done.is_err() {
            spectrum.fill(Complex32::default());
        }
    }
}

/// Bins of one row, with the parts of those that its edges cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BinSpan {
    /// First bin that lies whole in the row, and the one after the last.
    pub(crate) whole: (usize, usize),
    /// Up to two bins that lie in part in the row.
    pub(crate) parts: [(usize, f32); 2],
}

impl BinSpan {
    /// Every bin reaches half a bin to both sides.
    pub(crate) fn new(low_hz: f64, high_hz: f64, bin_hz: f64, bins: usize) -> Self {
        let last = (bins - 1) as f64;
        let low = (low_hz / bin_hz + 0.5).clamp(0.5, last + 0.5);
        let high = (high_hz / bin_hz + 0.5).clamp(low, last + 0.5);
        let (first, end) = (low.ceil() as usize, high.floor() as usize);
        if first > end {
            let bin = (low.floor() as usize).min(bins - 1);
            let part = (high - low) as f32;
            return Self {
                whole: (bin, bin),
                parts: [(bin, part), (bin, 0.0)],
            };
        }
        let under = first.saturating_sub(1);
        let over = end.min(bins - 1);
        Self {
            whole: (first, end),
            parts: [
                (under, (first as f64 - low) as f32),
                (
                    over,
                    if end < bins {
                        (high - end as f64) as f32
                    } else {
                        0.0
                    },
                ),
            ],
        }
    }
}

/// Values a row takes are padded to a multiple of this.
const LANES: usize = 8;

/// How a spectrum is laid out row by row, so that the energy of a row is a sum
/// of products of neighbouring values.
#[derive(Clone, Debug)]
pub(crate) struct RowLayout {
    spans: Vec<BinSpan>,
    /// Where each row starts, and the end of the last.
    starts: Vec<usize>,
}

impl RowLayout {
    /// Layout of rows with the given edges.
    pub(crate) fn new(edges_hz: &[(f64, f64)], bin_hz: f64, bins: usize) -> Self {
        let spans: Vec<BinSpan> = edges_hz
            .iter()
            .map(|&(low_hz, high_hz)| BinSpan::new(low_hz, high_hz, bin_hz, bins))
            .collect();
        let mut starts = vec![0];
        let mut end = 0;
        for span in &spans {
            end += (2 * (span.whole.1 - span.whole.0 + 2)).next_multiple_of(LANES);
            starts.push(end);
        }
        Self { spans, starts }
    }

    /// Number of values of a laid-out spectrum.
    pub(crate) fn len(&self) -> usize {
        self.starts.last().copied().unwrap_or(0)
    }

    /// Values of one row.
    pub(crate) fn row<'a>(&self, values: &'a [f32], row: usize) -> &'a [f32] {
        &values[self.starts[row]..self.starts[row + 1]]
    }

    /// Lays a spectrum out.
    pub(crate) fn lay(&self, spectrum: &[Complex32], values: &mut [f32]) {
        for (span, &start) in self.spans.iter().zip(&self.starts) {
            let row = &mut values[start..];
            for (place, (bin, part)) in span.parts.into_iter().enumerate() {
                let gain = part.max(0.0).sqrt();
                row[2 * place] = gain * spectrum[bin].re;
                row[2 * place + 1] = gain * spectrum[bin].im;
            }
            let whole = &spectrum[span.whole.0..span.whole.1];
            for (pair, bin) in row[4..].chunks_exact_mut(2).zip(whole) {
                pair[0] = bin.re;
                pair[1] = bin.im;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_tile_the_spectrum() {
        let edges = [20.0, 20.1, 20.2, 26.0, 27.5, 80.0, 81.0, 500.0];
        let bins = 180;
        let mut shares = vec![0.0f32; bins];
        for pair in edges.windows(2) {
            let span = BinSpan::new(pair[0], pair[1], 3.0, bins);
            shares[span.whole.0..span.whole.1]
                .iter_mut()
                .for_each(|share| *share += 1.0);
            for (bin, part) in span.parts {
                shares[bin] += part;
            }
        }
        for (bin, share) in shares.iter().enumerate() {
            let inside = (bin as f64 + 0.5).min(500.0 / 3.0) - (bin as f64 - 0.5).max(20.0 / 3.0);
            let expected = inside.clamp(0.0, 1.0) as f32;
            assert!(
                (share - expected).abs() < 1e-4,
                "{bin}: {share} for {expected}"
            );
        }
    }
}
