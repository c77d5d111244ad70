//! The windowed sinc and where it is placed.
//!
//! Kaiser's formulas: beta = 0.1102 (A - 8.7) and
//! taps = (A - 7.95) / (2.285 w) + 1 for A dB of stop-band attenuation and a
//! transition of w radians (A. V. Oppenheim, R. W. Schafer, *Discrete-Time Signal
//! Processing*, 3rd ed., eqs 7.75 and 7.76; the constants from memory). Only
//! `libm` functions are used, so that every machine gets the same bits.

use std::f64::consts::PI;
use std::ops::Range;

/// Stop-band attenuation of the design; 10 dB more than is promised.
const ATTENUATION_DB: f64 = 120.0;
/// Up to this many phases are tabulated exactly; odd rates share a table of this
/// many and interpolate, which errs by about (pi * 0.9 / phases)^2 / 8: -140 dB.
const MOST_PHASES: u64 = 4_096;

/// A polyphase filter for one pair of rates.
#[derive(Clone, Debug)]
pub(super) struct Kernel {
    /// Output frames per `step` input frames, in lowest terms.
    phases: u64,
    step: u64,
    /// Taps of each phase: a multiple of 8.
    taps: usize,
    /// Phases in the table: all of them, or `MOST_PHASES` and one more.
    tabulated: u64,
    table: Vec<f64>,
}

impl Kernel {
    pub(super) fn new(input_rate_hz: u32, output_rate_hz: u32) -> Self {
        let (input, output) = (u64::from(input_rate_hz), u64::from(output_rate_hz));
        let common = gcd(input, output);
        let (phases, step) = (output / common, input / common);
        let design = Design::new(f64::from(input_rate_hz), f64::from(output_rate_hz));
        let tabulated = phases.min(MOST_PHASES);
        let extra = u64::from(phases > MOST_PHASES);
        let table = (0..tabulated + extra)
            .flat_map(|phase| design.phase(phase as f64 / tabulated as f64))
            .collect();
        Kernel {
            phases,
            step,
            taps: design.taps,
            tabulated,
            table,
        }
    }

    pub(super) fn taps(&self) -> usize {
        self.taps
    }

    pub(super) fn output_frames(&self, input_frames: u64) -> u64 {
        let product = u128::from(input_frames) * u128::from(self.phases);
        saturate(product.div_ceil(u128::from(self.step)))
    }

    /// First input frame under the kernel of an output frame.
    pub(super) fn first_input(&self, output_frame: u64) -> i64 {
        self.place(output_frame).0 - (self.taps as i64 / 2 - 1)
    }

    /// Output frames whose whole kernel lies before input frame `input_end`.
    pub(super) fn settled(&self, input_end: i64) -> u64 {
        // The kernel of frame n ends at floor(n * step / phases) + taps / 2.
        let whole = input_end - self.taps as i64 / 2;
        let Ok(whole) = u64::try_from(whole) else {
            return 0;
        };
        self.output_frames(whole)
    }

    /// Appends output frames `range`; `input` starts at input frame `start` and must
    /// reach far enough, as [`Kernel::settled`] says.
    pub(super) fn apply(&self, range: Range<u64>, start: i64, input: &[f64], out: &mut Vec<f64>) {
        let (whole, mut phase) = self.place(range.start);
        let mut from = (whole - (self.taps as i64 / 2 - 1) - start) as usize;
        let (whole_step, phase_step) = (self.step / self.phases, self.step % self.phases);
        for _ in range {
            out.push(self.frame(phase, &input[from..from + self.taps]));
            from += whole_step as usize;
            phase += phase_step;
            if phase >= self.phases {
                phase -= self.phases;
                from += 1;
            }
        }
    }

    /// One output frame from the input under its kernel.
    fn frame(&self, phase: u64, window: &[f64]) -> f64 {
        if self.tabulated == self.phases {
            return dot(self.row(phase), window);
        }
        let exact = phase as f64 / self.phases as f64 * self.tabulated as f64;
        let below = libm::floor(exact);
        let low = dot(self.row(below as u64), window);
        let high = dot(self.row(below as u64 + 1), window);
        low + (high - low) * (exact - below)
    }

    /// Where an output frame lies: whole input frame, and phase after it.
    fn place(&self, output_frame: u64) -> (i64, u64) {
        let product = u128::from(output_frame) * u128::from(self.step);
        let whole = saturate(product / u128::from(self.phases));
        let phase = (product % u128::from(self.phases)) as u64;
        (whole.min(i64::MAX as u64 / 2) as i64, phase)
    }

    fn row(&self, phase: u64) -> &[f64] {
        let from = phase as usize * self.taps;
        &self.table[from..from + self.taps]
    }
}

fn saturate(value: u128) -> u64 {
    u64::try_from(value).unwrap_or(u64::MAX)
}

/// Sum of products in a fixed order: eight sums, then these in pairs.
fn dot(taps: &[f64], window: &[f64]) -> f64 {
    let (taps, _) = taps.as_chunks::<8>();
    let (window, _) = window.as_chunks::<8>();
    let mut sums = [0.0; 8];
    for (taps, window) in taps.iter().zip(window) {
        for lane in 0..8 {
            sums[lane] += taps[lane] * window[lane];
        }
    }
    ((sums[0] + sums[4]) + (sums[2] + sums[6])) + ((sums[1] + sums[5]) + (sums[3] + sums[7]))
}

/// Figures of the filter, in input frames.
struct Design {
    taps: usize,
    /// Cut-off, the middle of the transition, as a fraction of the input rate.
    cutoff: f64,
    beta: f64,
}

impl Design {
    fn new(input_rate_hz: f64, output_rate_hz: f64) -> Self {
        let nyquist_hz = input_rate_hz.min(output_rate_hz) / 2.0;
        let pass_hz = pass_edge_hz(nyquist_hz);
        let transition = 2.0 * PI * (nyquist_hz - pass_hz) / input_rate_hz;
        let length = (ATTENUATION_DB - 7.95) / (2.285 * transition) + 1.0;
        Design {
            taps: (libm::ceil(length) as usize).next_multiple_of(8),
            cutoff: (pass_hz + nyquist_hz) / 2.0 / input_rate_hz,
            beta: 0.1102 * (ATTENUATION_DB - 8.7),
        }
    }

    /// The taps of one phase, `offset` input frames after a whole one, made to sum
    /// to exactly what a constant needs: 1.
    fn phase(&self, offset: f64) -> Vec<f64> {
        let before = (self.taps / 2 - 1) as f64;
        let row: Vec<f64> = (0..self.taps)
            .map(|tap| self.impulse(tap as f64 - before - offset))
            .collect();
        let sum: f64 = row.iter().sum();
        row.into_iter().map(|value| value / sum).collect()
    }

    /// The continuous impulse response at `time` input frames from its centre.
    fn impulse(&self, time: f64) -> f64 {
        let position = time / (self.taps as f64 / 2.0);
        if position.abs() >= 1.0 {
            return 0.0;
        }
        let window = bessel_i0(self.beta * libm::sqrt(1.0 - position * position));
        let angle = 2.0 * PI * self.cutoff * time;
        let sinc = if time == 0.0 {
            1.0
        } else {
            libm::sin(angle) / angle
        };
        2.0 * self.cutoff * sinc * window / bessel_i0(self.beta)
    }
}

/// How far the pass-band reaches: 20 kHz where the rates allow it.
fn pass_edge_hz(nyquist_hz: f64) -> f64 {
    let narrow = nyquist_hz * (20_000.0 / 22_050.0);
    narrow.min((nyquist_hz * 0.84).max(20_000.0))
}

/// Modified Bessel function of the first kind, order 0, by its power series.
fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let mut term = 1.0;
    let mut sum = 1.0;
    let mut k = 1.0;
    while term > sum * 1e-18 {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
