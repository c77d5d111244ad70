//! The streaming meter of pitch.

use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};
use std::sync::Arc;

use crate::envelopes::Envelopes;
use crate::halver::Halver;
use crate::harmony_frames::{HarmonyFrames, LONG_PEAKS, PeakFrames, SHORT_PEAKS};
use crate::mixdown::Mixdown;
use crate::peaks::PeakFinder;

/// The long windows see a signal whose rate lies in this and its double.
const LOWEST_RATE_HZ: f64 = 5_500.0;
/// Length of the short windows.
const SHORT_S: f64 = 0.128;
/// Time from one short window to the next.
const SHORT_HOP_S: f64 = 0.021;

/// Streaming meter of pitch over time.
///
/// The result does not depend on how the stream is cut.
#[derive(Clone)]
pub struct HarmonyMeter {
    sample_rate_hz: f64,
    mixdown: Mixdown,
    work: Work,
}

impl std::fmt::Debug for HarmonyMeter {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "HarmonyMeter after {} frames", self.mixdown.frames)
    }
}

impl HarmonyMeter {
    /// A meter for one file: `sample_rate_hz` > 0, `channels` as in the file. Of
    /// more than two channels the first two are heard.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        let sample_rate_hz = f64::from(sample_rate_hz.max(1));
        Self {
            sample_rate_hz,
            mixdown: Mixdown::new(channels),
            work: Work::new(sample_rate_hz),
        }
    }

    /// Adds a block, one slice a channel, 1.0 = full scale.
    pub fn push(&mut self, block: &[&[f64]]) {
        let work = &mut self.work;
        self.mixdown.push(block, |chunk| work.chunk(chunk));
    }

    /// What is kept of everything that was pushed.
    pub fn finish(mut self) -> HarmonyFrames {
        let work = &mut self.work;
        self.mixdown.finish(|chunk| work.chunk(chunk));
        let seconds = self.mixdown.frames as f64 / self.sample_rate_hz;
        self.work.finish(seconds)
    }
}

#[derive(Clone)]
struct Work {
    halvings: Vec<Halver<2>>,
    last: Option<Halver<6>>,
    slower: [Halver<5>; 2],
    spare: Vec<f32>,
    slow: Vec<f32>,
    long: Spectra,
    short: Spectra,
    envelopes: Envelopes,
}

impl Work {
    fn new(sample_rate_hz: f64) -> Self {
        let mut rate_hz = sample_rate_hz;
        let (mut halvings, mut last) = (Vec::new(), None);
        let mut delay_s = 0.0;
        while rate_hz >= 2.0 * LOWEST_RATE_HZ {
            if rate_hz >= 4.0 * LOWEST_RATE_HZ {
                let halver = Halver::new(2.0);
                delay_s += halver.delay() / rate_hz;
                halvings.push(halver);
            } else {
                let halver = Halver::new(4.0);
                delay_s += halver.delay() / rate_hz;
                last = Some(halver);
            }
            rate_hz *= 0.5;
        }
        let slower = [Halver::new(3.5), Halver::new(3.5)];
        let slow_rate_hz = 0.25 * rate_hz;
        let slow_delay_s =
            delay_s + slower[0].delay() / rate_hz + slower[1].delay() / (0.5 * rate_hz);
        let long_size = if rate_hz < 8_500.0 { 2048 } else { 4096 };
        let short_window = (SHORT_S * slow_rate_hz).round().max(16.0) as usize;
        Self {
            halvings,
            last,
            slower,
            spare: Vec::new(),
            slow: Vec::new(),
            long: Spectra::new(
                long_size,
                long_size,
                long_size / 2,
                LONG_PEAKS,
                PeakFinder::new(rate_hz, long_size, long_size, (25.0, 2_300.0), 60.0, 5.0),
                (rate_hz, delay_s),
            ),
            short: Spectra::new(
                short_window,
                short_window.next_power_of_two(),
                (SHORT_HOP_S * slow_rate_hz).round().max(1.0) as usize,
                SHORT_PEAKS,
                PeakFinder::new(
                    slow_rate_hz,
                    short_window,
                    short_window.next_power_of_two(),
                    (22.0, 500.0),
                    60.0,
                    3.0,
                ),
                (slow_rate_hz, slow_delay_s),
            ),
            envelopes: Envelopes::new(rate_hz, delay_s, slow_delay_s),
        }
    }

    fn chunk(&mut self, signal: &mut Vec<f32>) {
        for halver in &mut self.halvings {
            halver.process(signal, &mut self.spare);
            std::mem::swap(signal, &mut self.spare);
        }
        if let Some(halver) = &mut self.last {
            halver.process(signal, &mut self.spare);
            std::mem::swap(signal, &mut self.spare);
        }
        self.slower[0].process(signal, &mut self.spare);
        self.slower[1].process(&self.spare, &mut self.slow);
        self.envelopes.chunk(signal, &self.slow);
        self.long.chunk(signal);
        self.short.chunk(&self.slow);
    }

    fn finish(self, seconds: f64) -> HarmonyFrames {
        HarmonyFrames {
            seconds,
            long: self.long.finish(seconds),
            short: self.short.finish(seconds),
            low: self.envelopes.finish(seconds),
        }
    }
}

/// Peaks of overlapping windows.
#[derive(Clone)]
struct Spectra {
    window: Vec<f32>,
    hop: usize,
    most: usize,
    finder: PeakFinder,
    fft: Arc<dyn RealToComplex<f32>>,
    signal: Vec<f32>,
    input: Vec<f32>,
    bins: Vec<Complex32>,
    scratch: Vec<Complex32>,
    rate_hz: f64,
    delay_s: f64,
    codes: Vec<u8>,
}

impl Spectra {
    fn new(
        window: usize,
        size: usize,
        hop: usize,
        most: usize,
        finder: PeakFinder,
        (rate_hz, delay_s): (f64, f64),
    ) -> Self {
        let fft = RealFftPlanner::<f32>::new().plan_fft_forward(size);
        let hann = |n| {
            (std::f64::consts::PI * (n as f64 + 0.5) / window as f64)
                .sin()
                .powi(2)
        };
        Self {
            window: (0..window).map(|n| hann(n) as f32).collect(),
            hop,
            most,
            finder,
            signal: vec![0.0; window / 2],
            input: fft.make_input_vec(),
            bins: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
            rate_hz,
            delay_s,
            codes: Vec::new(),
        }
    }

    fn chunk(&mut self, signal: &[f32]) {
        self.signal.extend_from_slice(signal);
        let mut start = 0;
        while start + self.window.len() <= self.signal.len() {
            self.frame(start);
            start += self.hop;
        }
        self.signal.copy_within(start.., 0);
        self.signal.truncate(self.signal.len() - start);
    }

    fn frame(&mut self, start: usize) {
        let signal = &self.signal[start..start + self.window.len()];
        for ((x, y), w) in self.input.iter_mut().zip(signal).zip(&self.window) {
            *x = y * w;
        }
        self.input[self.window.len()..].fill(0.0);
        let done =
            self.fft
                .process_with_scratch(&mut self.input, &mut self.bins, &mut self.scratch);
        if done.is_err() {
            self.bins.fill(Complex32::default());
        }
        self.finder.find(&self.bins, self.most, &mut self.codes);
    }

    fn finish(mut self, seconds: f64) -> PeakFrames {
        let silence = vec![0.0; self.window.len()];
        self.chunk(&silence);
        let mut frames = PeakFrames {
            hop_s: self.hop as f64 / self.rate_hz,
            first_s: -self.delay_s,
            each: self.most,
            codes: self.codes,
        };
        let whole = ((seconds + self.delay_s) / frames.hop_s).ceil().max(0.0) as usize;
        let size = crate::peaks::PACKED * self.most;
        frames.codes.truncate(whole * size);
        frames
    }
}
