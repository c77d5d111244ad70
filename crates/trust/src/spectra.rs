//! Short-time spectra of the bounce and of the sum, side by side.
//!
//! Frames of 4096 samples, half overlapped, Hann window; both sides pooled.
//! What is left (bounce less sum) needs no transform of its own.

use std::sync::Arc;

use nalgebra::Complex;
use realfft::{RealFftPlanner, RealToComplex};

pub(crate) const FRAME: usize = 4096;
pub(crate) const HOP: usize = FRAME / 2;

/// Half-octave bands, from this frequency up, in which cells are compared.
const LOWEST_CELL_HZ: f64 = 44.2;
const CELLS: usize = 17;

/// Power ratio from which a cell holds something that the other lacks.
const MORE: f64 = 2.0;

/// One channel: its last samples, and their spectrum.
struct Channel {
    samples: Vec<f64>,
    spectrum: Vec<Complex<f64>>,
}

/// Frame-by-frame comparison of two stereo signals.
pub(crate) struct Spectra {
    transform: Arc<dyn RealToComplex<f64>>,
    window: Vec<f64>,
    /// Bounce left, sum left, bounce right, sum right.
    channels: [Channel; 4],
    scratch: Vec<f64>,
    filled: usize,
    edges: Vec<(usize, usize)>,
    pub powers: Powers,
    /// Transfer from sum to bounce, if it is known already.
    tone: Option<Vec<Complex<f64>>>,
}

/// Powers added up over all frames.
#[derive(Debug, Clone)]
pub(crate) struct Powers {
    pub bounce: Vec<f64>,
    pub sum: Vec<f64>,
    pub left: Vec<f64>,
    pub cross: Vec<Complex<f64>>,
    /// Left over after the known tone and a gain for each frame.
    pub after_chain: f64,
    /// Left over in cells where the bounce has much more than the sum.
    pub left_added: f64,
    /// Left over in cells where the sum has much more than the bounce.
    pub left_lost: f64,
}

impl Spectra {
    pub fn new(rate_hz: u32, tone: Option<Vec<Complex<f64>>>) -> Self {
        let transform = RealFftPlanner::<f64>::new().plan_fft_forward(FRAME);
        let bins = FRAME / 2 + 1;
        let channel = || Channel {
            samples: vec![0.0; FRAME],
            spectrum: vec![Complex::default(); bins],
        };
        let window = (0..FRAME)
            .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / FRAME as f64).cos())
            .collect();
        Self {
            transform,
            window,
            channels: [channel(), channel(), channel(), channel()],
            scratch: vec![0.0; FRAME],
            filled: 0,
            edges: cell_edges(rate_hz),
            powers: Powers::new(bins),
            tone,
        }
    }

    /// Forgets the samples (not the powers), for a jump in time.
    pub fn jump(&mut self) {
        self.filled = 0;
    }

    /// Takes the next frames of `bounce` and `sum`, as (left, right).
    pub fn take(&mut self, bounce: (&[f64], &[f64]), sum: (&[f64], &[f64])) {
        let inputs = [bounce.0, sum.0, bounce.1, sum.1];
        let mut done = 0;
        while done < bounce.0.len() {
            let now = (FRAME - self.filled).min(bounce.0.len() - done);
            for (channel, input) in self.channels.iter_mut().zip(inputs) {
                channel.samples[self.filled..self.filled + now]
                    .copy_from_slice(&input[done..done + now]);
            }
            self.filled += now;
            done += now;
            if self.filled == FRAME {
                self.frame();
                for channel in &mut self.channels {
                    channel.samples.copy_within(HOP.., 0);
                }
                self.filled = FRAME - HOP;
            }
        }
    }

    fn frame(&mut self) {
        for channel in &mut self.channels {
            for ((out, sample), window) in self
                .scratch
                .iter_mut()
                .zip(&channel.samples)
                .zip(&self.window)
            {
                *out = sample * window;
            }
            // Lengths match by construction.
            let _ = self
                .transform
                .process(&mut self.scratch, &mut channel.spectrum);
        }
        let [bounce_l, sum_l, bounce_r, sum_r] = &self.channels;
        for (bounce, sum) in [(bounce_l, sum_l), (bounce_r, sum_r)] {
            self.powers.add(&bounce.spectrum, &sum.spectrum);
            self.powers
                .compare_cells(&self.edges, &bounce.spectrum, &sum.spectrum);
        }
        if let Some(tone) = &self.tone {
            let sides = [
                (&bounce_l.spectrum[..], &sum_l.spectrum[..]),
                (&bounce_r.spectrum[..], &sum_r.spectrum[..]),
            ];
            self.powers.after_chain += left_after_tone_and_gain(tone, &sides);
        }
    }
}

impl Powers {
    fn new(bins: usize) -> Self {
        Self {
            bounce: vec![0.0; bins],
            sum: vec![0.0; bins],
            left: vec![0.0; bins],
            cross: vec![Complex::default(); bins],
            after_chain: 0.0,
            left_added: 0.0,
            left_lost: 0.0,
        }
    }

    fn add(&mut self, bounce: &[Complex<f64>], sum: &[Complex<f64>]) {
        for bin in 0..bounce.len() {
            self.bounce[bin] += bounce[bin].norm_sqr();
            self.sum[bin] += sum[bin].norm_sqr();
            self.left[bin] += (bounce[bin] - sum[bin]).norm_sqr();
            self.cross[bin] += bounce[bin] * sum[bin].conj();
        }
    }

    fn compare_cells(
        &mut self,
        edges: &[(usize, usize)],
        bounce: &[Complex<f64>],
        sum: &[Complex<f64>],
    ) {
        for &(low, high) in edges {
            let (mut in_bounce, mut in_sum, mut left) = (0.0, 0.0, 0.0);
            for bin in low..high {
                in_bounce += bounce[bin].norm_sqr();
                in_sum += sum[bin].norm_sqr();
                left += (bounce[bin] - sum[bin]).norm_sqr();
            }
            if in_bounce > MORE * in_sum {
                self.left_added += left;
            } else if in_sum > MORE * in_bounce {
                self.left_lost += left;
            }
        }
    }

    /// Transfer from sum to bounce by least squares, bin by bin.
    pub fn tone(&self) -> Vec<Complex<f64>> {
        let floor = self.sum.iter().copied().fold(0.0, f64::max) * 1e-12;
        self.cross
            .iter()
            .zip(&self.sum)
            .map(|(cross, power)| {
                if *power > floor {
                    cross / *power
                } else {
                    Complex::new(1.0, 0.0)
                }
            })
            .collect()
    }

    /// Power left after the best unchanging filter.
    pub fn after_tone(&self) -> f64 {
        (0..self.bounce.len())
            .map(|bin| {
                let explained = if self.sum[bin] > 0.0 {
                    self.cross[bin].norm_sqr() / self.sum[bin]
                } else {
                    0.0
                };
                (self.bounce[bin] - explained).max(0.0)
            })
            .sum()
    }

    pub fn bounce_total(&self) -> f64 {
        self.bounce.iter().sum()
    }

    pub fn left_total(&self) -> f64 {
        self.left.iter().sum()
    }
}

/// Spectra of bounce and sum on one side.
type Side<'a> = (&'a [Complex<f64>], &'a [Complex<f64>]);

fn left_after_tone_and_gain(tone: &[Complex<f64>], sides: &[Side]) -> f64 {
    let (mut bounce_power, mut sum_power, mut product) = (0.0, 0.0, 0.0);
    for (bounce, sum) in sides {
        for bin in 0..tone.len() {
            let toned = sum[bin] * tone[bin];
            bounce_power += bounce[bin].norm_sqr();
            sum_power += toned.norm_sqr();
            product += (bounce[bin] * toned.conj()).re;
        }
    }
    if sum_power <= 0.0 || product <= 0.0 {
        return bounce_power;
    }
    (bounce_power - product * product / sum_power).max(0.0)
}

/// Bins of each half-octave cell.
fn cell_edges(rate_hz: u32) -> Vec<(usize, usize)> {
    let bin_hz = f64::from(rate_hz) / FRAME as f64;
    let edge = |index: usize| {
        let hz = LOWEST_CELL_HZ * 2f64.powf(index as f64 / 2.0);
        ((hz / bin_hz).round() as usize).min(FRAME / 2 + 1)
    };
    (0..CELLS)
        .map(|index| (edge(index), edge(index + 1)))
        .filter(|(low, high)| low < high)
        .collect()
}

/// Sums of `powers` over octave bands: (low_hz, high_hz, sum), the lowest from
/// 22 Hz, the highest up to half the rate.
pub(crate) fn octaves(powers: &[f64], rate_hz: u32) -> Vec<(f64, f64, f64)> {
    let bin_hz = f64::from(rate_hz) / FRAME as f64;
    let mut bands = Vec::new();
    let mut centre_hz = 31.25f64;
    while centre_hz / std::f64::consts::SQRT_2 < f64::from(rate_hz) / 2.0 && centre_hz < 20_000.0 {
        let (low_hz, high_hz) = (
            centre_hz / std::f64::consts::SQRT_2,
            centre_hz * std::f64::consts::SQRT_2,
        );
        let bin = |hz: f64| ((hz / bin_hz).ceil() as usize).min(powers.len());
        bands.push((
            low_hz,
            high_hz,
            powers[bin(low_hz)..bin(high_hz)].iter().sum(),
        ));
        centre_hz *= 2.0;
    }
    bands
}
