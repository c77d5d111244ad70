//! A bill of health, taken while a file is read.
//!
//! Each detector is one file. Sound is taken in blocks of 10 ms whatever the size
//! of the pushes, so the notes never depend on it; most blocks cost one pass that
//! finds their extremes, sum and energy, and only blocks that need it are looked
//! at more closely.

mod block;
mod dc_offset;
mod flat_tops;
mod levels;
mod non_finite;
mod stereo;
mod tail;

use crate::note::HealthNote;
use crate::planar::Planar;
use block::Stats;
use dc_offset::DcOffset;
use flat_tops::FlatTops;
use levels::Levels;
use non_finite::NonFinite;
use stereo::Stereo;
use tail::Tail;

/// Blocks a second: 10 ms each.
const BLOCKS_A_SECOND: u32 = 100;
/// Nothing above this counts as sound: -90 dBFS (common practice, no source).
const SILENCE_LINEAR: f64 = 3.162_277_660_168_379_6e-5;

/// Listens to a file and says what is odd about it.
///
/// It takes samples as [`crate::Reader`] hands them on, NaN and infinities included.
///
/// ```
/// use cupel_audio::{HealthCode, HealthMeter};
/// let mut meter = HealthMeter::new(48_000, 1);
/// meter.push(&[vec![0.0; 4_800]]);
/// assert_eq!(meter.finish()[0].code, HealthCode::Silence);
/// ```
#[derive(Clone, Debug)]
pub struct HealthMeter {
    sample_rate_hz: f64,
    block_frames: usize,
    /// The block that is not full yet.
    partial: Planar,
    frames: u64,
    levels: Levels,
    flat_tops: FlatTops,
    dc_offset: DcOffset,
    stereo: Stereo,
    non_finite: NonFinite,
    tail: Tail,
}

impl HealthMeter {
    /// A meter for a file of one or two channels.
    pub fn new(sample_rate_hz: u32, channels: usize) -> Self {
        HealthMeter {
            sample_rate_hz: f64::from(sample_rate_hz.max(1)),
            block_frames: (sample_rate_hz / BLOCKS_A_SECOND).max(1) as usize,
            partial: Planar::new(channels, 0),
            frames: 0,
            levels: Levels::new(channels),
            flat_tops: FlatTops::new(channels),
            dc_offset: DcOffset::new(channels),
            stereo: Stereo::new(channels),
            non_finite: NonFinite::default(),
            tail: Tail::default(),
        }
    }

    /// Takes the next frames: one slice a channel, all of one length; channels
    /// beyond those announced are ignored.
    pub fn push<C: AsRef<[f64]>>(&mut self, channels: &[C]) {
        let frames = channels.iter().map(|c| c.as_ref().len()).min().unwrap_or(0);
        if channels.len() < self.partial.channels.len() {
            return;
        }
        let mut from = 0;
        while from < frames {
            let held = self.partial.frames();
            let count = (self.block_frames - held).min(frames - from);
            let slices = channels.iter().map(|c| &c.as_ref()[from..from + count]);
            if count == self.block_frames {
                let block: Vec<&[f64]> = slices.take(self.partial.channels.len()).collect();
                self.take(&block);
            } else {
                self.gather(slices);
            }
            from += count;
        }
    }

    /// Takes the next block.
    pub fn push_planar(&mut self, block: &Planar) {
        self.push(&block.channels);
    }

    /// Ends the file and gives the notes, the gravest first.
    pub fn finish(mut self) -> Vec<HealthNote> {
        if self.partial.frames() > 0 {
            self.take_partial();
        }
        let mut notes: Vec<HealthNote> = Vec::new();
        notes.extend(self.non_finite.note(self.sample_rate_hz));
        notes.extend(self.levels.notes(self.sample_rate_hz));
        if !self.levels.is_silent() {
            notes.extend(self.flat_tops.note(self.sample_rate_hz));
            notes.extend(self.dc_offset.note());
            notes.extend(self.stereo.note());
            notes.extend(self.tail.note(self.frames, self.sample_rate_hz));
        }
        notes.sort_by_key(|note| std::cmp::Reverse(note.grade));
        notes
    }

    /// Adds to the block that is not full, and takes it once it is.
    fn gather<'a>(&mut self, slices: impl Iterator<Item = &'a [f64]>) {
        for (held, slice) in self.partial.channels.iter_mut().zip(slices) {
            held.extend_from_slice(slice);
        }
        if self.partial.frames() == self.block_frames {
            self.take_partial();
        }
    }

    fn take_partial(&mut self) {
        let mut block = std::mem::take(&mut self.partial);
        self.take(&block.channels);
        block.clear();
        self.partial = block;
    }

    /// One block through all detectors.
    fn take<C: AsRef<[f64]>>(&mut self, block: &[C]) {
        let mut energy = 0.0;
        let mut frames = 0;
        for (channel, samples) in block.iter().enumerate() {
            let samples = samples.as_ref();
            frames = samples.len();
            let stats = Stats::of(samples);
            if !stats.is_finite() {
                self.non_finite.look(samples, self.frames);
            }
            self.levels.add(channel, &stats, self.frames);
            self.flat_tops.add(channel, &stats, samples, self.frames);
            self.dc_offset.add(channel, &stats, frames);
            energy += if stats.energy.is_finite() {
                stats.energy
            } else {
                0.0
            };
        }
        if let [left, right] = block {
            self.stereo.add(left.as_ref(), right.as_ref());
        }
        self.tail.add(energy / block.len().max(1) as f64, frames);
        self.frames += frames as u64;
    }
}

/// Amplitude in dBFS.
fn dbfs(amplitude: f64) -> f64 {
    20.0 * libm::log10(amplitude)
}
