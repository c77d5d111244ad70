//! Reads the sound of a file whose layout is known.

use std::io::{Seek, SeekFrom};

use super::layout::{Layout, truncated};
use super::samples::decode;
use super::{aiff, riff};
use crate::error::AudioError;
use crate::info::FileInfo;
use crate::note::HealthNote;
use crate::origin::{Bytes, Origin};
use crate::planar::Planar;

/// Bytes read at a time: small enough to stay in the second-level cache.
const CHUNK_BYTES: usize = 96 * 1024;

/// An open file of uncompressed sound.
#[derive(Debug)]
pub(crate) struct PcmReader {
    origin: Origin,
    bytes: Bytes,
    layout: Layout,
    info: FileInfo,
    position: u64,
    buffer: Vec<u8>,
}

impl PcmReader {
    pub(crate) fn open(origin: &Origin) -> Result<Self, AudioError> {
        let mut bytes = origin.open()?;
        let mut form = [0; 4];
        bytes
            .read_at(0, &mut form)
            .map_err(|e| AudioError::read(origin.path(), e))?;
        let layout = match &form {
            b"FORM" => aiff::read_layout(origin.path(), &mut bytes)?,
            _ => riff::read_layout(origin.path(), &mut bytes)?,
        };
        let mut reader = PcmReader {
            origin: origin.clone(),
            bytes,
            info: file_info(&layout),
            layout,
            position: 0,
            buffer: Vec::new(),
        };
        reader.seek(0)?;
        Ok(reader)
    }

    pub(crate) fn info(&self) -> &FileInfo {
        &self.info
    }

    pub(crate) fn notes(&self) -> Vec<HealthNote> {
        self.layout.notes.clone()
    }

    /// Reads up to `max_frames` frames into `block`, which then has just these.
    pub(crate) fn read(
        &mut self,
        block: &mut Planar,
        max_frames: usize,
    ) -> Result<usize, AudioError> {
        let format = self.layout.format;
        let left = self.layout.frames.saturating_sub(self.position);
        let wanted = usize::try_from(left).unwrap_or(usize::MAX).min(max_frames);
        let step = CHUNK_BYTES / format.frame_bytes();
        let mut done = 0;
        // What is held already is written over, so that nothing is cleared twice.
        block.resize(format.channels, wanted);
        while done < wanted {
            let count = self.fill((wanted - done).min(step))?;
            if count == 0 {
                break;
            }
            let mut sides: Vec<&mut [f64]> = block
                .channels
                .iter_mut()
                .map(|channel| &mut channel[done..])
                .collect();
            decode(format.encoding, &self.buffer, &mut sides);
            done += count;
            self.position += count as u64;
        }
        block.truncate(done);
        Ok(done)
    }

    /// Reads straight into both sides, of one length; mono into both. Fewer frames
    /// than they are long come only at the end.
    pub(crate) fn read_sides(
        &mut self,
        left: &mut [f64],
        right: &mut [f64],
    ) -> Result<usize, AudioError> {
        let format = self.layout.format;
        let step = CHUNK_BYTES / format.frame_bytes();
        let mut done = 0;
        loop {
            let ahead = self.layout.frames.saturating_sub(self.position);
            let ahead = usize::try_from(ahead).unwrap_or(usize::MAX);
            let wanted = (left.len() - done).min(ahead).min(step);
            if wanted == 0 {
                return Ok(done);
            }
            let count = self.fill(wanted)?;
            if count == 0 {
                return Ok(done);
            }
            let range = done..done + count;
            let (left, right) = (&mut left[range.clone()], &mut right[range]);
            if format.channels == 1 {
                decode(format.encoding, &self.buffer, &mut [&mut *left]);
                right.copy_from_slice(left);
            } else {
                decode(format.encoding, &self.buffer, &mut [left, right]);
            }
            done += count;
            self.position += count as u64;
        }
    }

    /// Whether its samples may be no numbers.
    pub(crate) fn may_hold_non_finite(&self) -> bool {
        self.layout.format.encoding.is_float()
    }

    /// Goes to a frame; past the end, reading gives nothing.
    pub(crate) fn seek(&mut self, frame: u64) -> Result<(), AudioError> {
        self.position = frame.min(self.layout.frames);
        let offset = self.position * self.layout.format.frame_bytes() as u64;
        self.bytes
            .seek(SeekFrom::Start(self.layout.data_offset + offset))
            .map_err(|e| AudioError::read(self.origin.path(), e))?;
        Ok(())
    }

    /// Fills the buffer with up to `frames` whole frames; returns how many.
    fn fill(&mut self, frames: usize) -> Result<usize, AudioError> {
        let frame_bytes = self.layout.format.frame_bytes();
        self.buffer.resize(frames * frame_bytes, 0);
        let count = self
            .bytes
            .read_up_to(&mut self.buffer)
            .map_err(|e| AudioError::read(self.origin.path(), e))?;
        let whole = count / frame_bytes;
        self.buffer.truncate(whole * frame_bytes);
        if whole < frames {
            self.shrink(self.position + whole as u64);
        }
        Ok(whole)
    }

    /// The file became shorter since it was opened.
    fn shrink(&mut self, frames: u64) {
        let rate_hz = f64::from(self.info.sample_rate_hz);
        let promised_s = self.layout.frames as f64 / rate_hz;
        let note = truncated(self.origin.path(), promised_s, frames as f64 / rate_hz);
        self.layout.notes.push(note);
        self.layout.frames = frames;
    }
}

fn file_info(layout: &Layout) -> FileInfo {
    FileInfo {
        container: layout.container.to_string(),
        encoding: layout.format.describe(),
        bits: layout.format.bits,
        sample_rate_hz: layout.format.sample_rate_hz,
        channels: layout.format.channels,
        frames: Some(layout.frames),
        time_reference: layout.time_reference,
        lossy: false,
    }
}
