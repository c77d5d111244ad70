//! Sample-rate conversion by a polyphase windowed sinc.
//!
//! The kernel is a Kaiser-windowed sinc: flat within 0.001 dB to its pass-band
//! edge (20 kHz between 44.1 and 48 kHz), images and aliases below -110 dB from the
//! lower Nyquist frequency on. Its delay is taken out to the sample, and the size
//! of blocks changes no bit.

mod kernel;

use crate::planar::Planar;
use kernel::Kernel;

/// Converts planar blocks from one rate to another, streaming.
///
/// Output frame `n` stands for the time of input frame `n * input / output`;
/// before its start and after its end, the input is silent.
///
/// ```
/// use cupel_audio::{Planar, Resampler};
/// let mut resampler = Resampler::new(44_100, 48_000, 1);
/// let mut out = Planar::new(1, 0);
/// resampler.process(&[vec![0.5; 441]], &mut out);
/// resampler.finish(&mut out);
/// assert_eq!(out.frames(), 480);
/// ```
#[derive(Clone, Debug)]
pub struct Resampler {
    kernel: Kernel,
    /// Input per channel, from frame `start` on.
    input: Vec<Vec<f64>>,
    /// Input frame that stands first in `input`; negative before the sound.
    start: i64,
    /// Input frames given so far, counted from the start of the sound.
    given: i64,
    /// Next output frame.
    next: u64,
}

impl Resampler {
    /// A converter for `channels` channels; both rates at least 1 Hz.
    pub fn new(input_rate_hz: u32, output_rate_hz: u32, channels: usize) -> Self {
        let kernel = Kernel::new(input_rate_hz.max(1), output_rate_hz.max(1));
        let mut resampler = Resampler {
            kernel,
            input: vec![Vec::new(); channels],
            start: 0,
            given: 0,
            next: 0,
        };
        resampler.seek(0);
        resampler
    }

    /// Output frames of an input of `input_frames` frames: rounded up.
    pub fn output_frames(&self, input_frames: u64) -> u64 {
        self.kernel.output_frames(input_frames)
    }

    /// Goes to an output frame; returns the input frame from which `process` must
    /// be fed next. What follows has the bits of an unbroken run.
    pub fn seek(&mut self, output_frame: u64) -> u64 {
        let first = self.kernel.first_input(output_frame);
        let feed_from = first.max(0);
        self.start = first;
        self.given = feed_from;
        self.next = output_frame;
        let silent = (feed_from - first) as usize;
        for channel in &mut self.input {
            channel.clear();
            channel.resize(silent, 0.0);
        }
        feed_from as u64
    }

    /// Takes input, appends the output that it settles to `output`, which must have
    /// as many channels (missing ones are added).
    ///
    /// All channels have one length; channels beyond those announced are ignored.
    pub fn process<C: AsRef<[f64]>>(&mut self, input: &[C], output: &mut Planar) {
        let frames = input.first().map_or(0, |channel| channel.as_ref().len());
        for (held, given) in self.input.iter_mut().zip(input) {
            held.extend_from_slice(given.as_ref());
        }
        self.given += frames as i64;
        self.run(u64::MAX, output);
    }

    /// Appends what is left after the last input.
    pub fn finish(&mut self, output: &mut Planar) {
        let end = self.kernel.output_frames(self.given.max(0) as u64);
        let tail = self.kernel.taps();
        for channel in &mut self.input {
            channel.resize(channel.len() + tail, 0.0);
        }
        self.run(end, output);
    }

    /// Computes every output frame before `end` whose input is there.
    fn run(&mut self, end: u64, output: &mut Planar) {
        let frames = output.frames();
        output.resize(self.input.len(), frames);
        let held = self.input.first().map_or(0, Vec::len);
        let settled = self.kernel.settled(self.start + held as i64).min(end);
        if self.next < settled {
            for (held, out) in self.input.iter().zip(&mut output.channels) {
                self.kernel.apply(self.next..settled, self.start, held, out);
            }
        }
        self.next = self.next.max(settled);
        self.forget();
    }

    /// Drops input that no later output needs.
    fn forget(&mut self) {
        let first = self.kernel.first_input(self.next);
        let old = usize::try_from(first - self.start).unwrap_or(0);
        for channel in &mut self.input {
            channel.drain(..old.min(channel.len()));
        }
        self.start += old as i64;
    }
}
