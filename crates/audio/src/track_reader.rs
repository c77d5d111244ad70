//! A file as it plays in the session.

use std::path::Path;

use crate::error::AudioError;
use crate::info::FileInfo;
use crate::note::HealthNote;
use crate::planar::Planar;
use crate::reader::{Reader, silence_non_finite};
use crate::resampler::Resampler;

/// Frames read from the file at a time.
const FILE_BLOCK_FRAMES: usize = 8_192;

/// Reads a file as stereo at the session's rate, shifted to its place.
///
/// Mono plays on both sides at unity. Samples that are not finite play as silence.
/// Frame 0 is the start of the session; where the file starts later, silence comes
/// first, where it starts earlier, its start is left out.
#[derive(Debug)]
pub struct TrackReader {
    reader: Reader,
    resampler: Option<Resampler>,
    start_frames: i64,
    /// Next session frame.
    position: u64,
    /// File frames at the session's rate, not yet handed on.
    ready: Planar,
    ready_from: usize,
    block: Planar,
    file_ended: bool,
}

impl TrackReader {
    /// Opens a file for a session at `session_rate_hz`; `start_frames` is where the
    /// file starts, in session frames (negative: before the session does).
    ///
    /// # Errors
    /// As [`Reader::open`].
    pub fn open(path: &Path, session_rate_hz: u32, start_frames: i64) -> Result<Self, AudioError> {
        Self::new(Reader::open(path)?, session_rate_hz, start_frames)
    }

    /// The same for a file that is open already.
    ///
    /// # Errors
    /// [`AudioError::Read`] if the system refuses to go to the file's start.
    pub fn new(
        reader: Reader,
        session_rate_hz: u32,
        start_frames: i64,
    ) -> Result<Self, AudioError> {
        let info = reader.info();
        let resampler = (info.sample_rate_hz != session_rate_hz)
            .then(|| Resampler::new(info.sample_rate_hz, session_rate_hz, info.channels));
        let mut track = TrackReader {
            ready: Planar::new(info.channels, 0),
            reader,
            resampler,
            start_frames,
            position: 0,
            ready_from: 0,
            block: Planar::default(),
            file_ended: false,
        };
        track.seek(0)?;
        Ok(track)
    }

    /// Whether the file has one channel.
    pub fn is_mono(&self) -> bool {
        self.info().channels == 1
    }

    /// What the file says of itself, at its own rate.
    pub fn info(&self) -> &FileInfo {
        self.reader.info()
    }

    /// As [`Reader::notes`].
    pub fn notes(&self) -> Vec<HealthNote> {
        self.reader.notes()
    }

    /// Session frames up to the file's end, silence before it included; `None`
    /// where only reading to the end tells.
    pub fn frames(&self) -> Option<u64> {
        let frames = self.info().frames?;
        let frames = match &self.resampler {
            Some(resampler) => resampler.output_frames(frames),
            None => frames,
        };
        Some(frames.saturating_add_signed(self.start_frames))
    }

    /// Reads the next frames into both slices, whose shorter length counts; returns
    /// how many. Fewer than asked for, and then 0, come only at the end; frames
    /// after those returned are left as they are.
    ///
    /// # Errors
    /// [`AudioError::Read`] if the system refuses.
    pub fn read(&mut self, left: &mut [f64], right: &mut [f64]) -> Result<usize, AudioError> {
        let wanted = left.len().min(right.len());
        let mut done = self.lead_in(&mut left[..wanted], &mut right[..wanted]);
        while done < wanted {
            let (left, right) = (&mut left[done..wanted], &mut right[done..wanted]);
            let mut count = self.take(left, right);
            if count == 0 {
                match self.read_through(left, right)? {
                    Some(0) => break,
                    Some(read) => count = read,
                    None if self.refill()? => {}
                    None => break,
                }
            }
            done += count;
        }
        Ok(done)
    }

    /// Reads from the file without anything in between, where nothing is needed.
    fn read_through(
        &mut self,
        left: &mut [f64],
        right: &mut [f64],
    ) -> Result<Option<usize>, AudioError> {
        if self.resampler.is_some() {
            return Ok(None);
        }
        let count = self.reader.read_sides(left, right).transpose()?;
        self.position += count.unwrap_or(0) as u64;
        Ok(count)
    }

    /// Goes to a session frame; what follows has the bits of an unbroken read.
    ///
    /// # Errors
    /// [`AudioError::Read`] if the system refuses.
    pub fn seek(&mut self, frame: u64) -> Result<(), AudioError> {
        let in_file = frame as i128 - i128::from(self.start_frames);
        let in_file = u64::try_from(in_file.max(0)).unwrap_or(u64::MAX);
        let feed_from = match &mut self.resampler {
            Some(resampler) => resampler.seek(in_file),
            None => in_file,
        };
        self.reader.seek(feed_from)?;
        self.position = frame;
        self.ready.clear();
        self.ready_from = 0;
        self.file_ended = false;
        Ok(())
    }

    /// Silence before the file's start; returns how many frames.
    fn lead_in(&mut self, left: &mut [f64], right: &mut [f64]) -> usize {
        let start = u64::try_from(self.start_frames).unwrap_or(0);
        let ahead = usize::try_from(start.saturating_sub(self.position)).unwrap_or(usize::MAX);
        let count = ahead.min(left.len());
        left[..count].fill(0.0);
        right[..count].fill(0.0);
        self.position += count as u64;
        count
    }

    /// Hands on frames that are ready; returns how many.
    fn take(&mut self, left: &mut [f64], right: &mut [f64]) -> usize {
        let count = (self.ready.frames() - self.ready_from).min(left.len());
        let range = self.ready_from..self.ready_from + count;
        for (side, out) in [left, right].into_iter().enumerate() {
            let channel = side.min(self.ready.channels.len() - 1);
            out[..count].copy_from_slice(&self.ready.channels[channel][range.clone()]);
        }
        self.ready_from += count;
        self.position += count as u64;
        count
    }

    /// Gets more of the file ready; `false` at its end.
    fn refill(&mut self) -> Result<bool, AudioError> {
        if self.file_ended {
            return Ok(false);
        }
        let count = self.reader.read(&mut self.block, FILE_BLOCK_FRAMES)?;
        self.ready_from = 0;
        for channel in &mut self.block.channels {
            silence_non_finite(channel);
        }
        self.file_ended = count == 0;
        match &mut self.resampler {
            None => std::mem::swap(&mut self.ready, &mut self.block),
            Some(resampler) => {
                self.ready.clear();
                if count > 0 {
                    resampler.process(&self.block.channels, &mut self.ready);
                } else {
                    resampler.finish(&mut self.ready);
                }
            }
        }
        Ok(count > 0 || self.ready.frames() > 0)
    }
}
