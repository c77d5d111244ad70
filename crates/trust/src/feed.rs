//! Tracks and bounce side by side, each moved to its place, read in blocks.

use rayon::prelude::*;

use crate::{Source, Stream, TrustError};

/// A source moved in time: its frame 0 plays at `offset_frames`.
#[derive(Clone, Copy)]
pub(crate) struct Placed<'a> {
    pub source: &'a dyn Source,
    pub offset_frames: i64,
}

impl Placed<'_> {
    /// First frame after its end, on the common clock.
    pub fn end(&self) -> u64 {
        (self.source.frames() as i64 + self.offset_frames).max(0) as u64
    }
}

/// An open stream on the common clock; silence before and after it.
pub(crate) struct PlacedStream {
    stream: Box<dyn Stream>,
    offset_frames: i64,
    /// Next frame on the common clock.
    at: i64,
    ended: bool,
}

impl PlacedStream {
    pub fn open(placed: &Placed) -> Result<Self, TrustError> {
        let mut opened = Self {
            stream: placed.source.open()?,
            offset_frames: placed.offset_frames,
            at: 0,
            ended: false,
        };
        if placed.offset_frames < 0 {
            opened.stream.seek(placed.offset_frames.unsigned_abs())?;
        }
        Ok(opened)
    }

    /// Goes to `frame` of the common clock.
    pub fn seek(&mut self, frame: u64) -> Result<(), TrustError> {
        let frame = frame as i64;
        if frame != self.at {
            let inner = (frame - self.offset_frames).max(0);
            self.stream.seek(inner as u64)?;
            self.at = frame;
            self.ended = false;
        }
        Ok(())
    }

    /// Fills both sides, with silence where there is no sound.
    pub fn fill(&mut self, left: &mut [f64], right: &mut [f64]) -> Result<(), TrustError> {
        let wanted = left.len();
        let mut done = ((self.offset_frames - self.at).max(0) as usize).min(wanted);
        left[..done].fill(0.0);
        right[..done].fill(0.0);
        while done < wanted && !self.ended {
            let count = self.stream.read(&mut left[done..], &mut right[done..])?;
            self.ended = count == 0;
            done += count.min(wanted - done);
        }
        left[done..].fill(0.0);
        right[done..].fill(0.0);
        scrub(left);
        scrub(right);
        self.at += wanted as i64;
        Ok(())
    }
}

/// A sample that is no number would spoil every sum after it.
fn scrub(channel: &mut [f64]) {
    for sample in channel {
        if !sample.is_finite() {
            *sample = 0.0;
        }
    }
}

/// Several placed streams read in step.
///
/// A block holds one column per stream: `capacity` frames of the left side,
/// then as many of the right.
pub(crate) struct Feed {
    streams: Vec<PlacedStream>,
    pub columns: Vec<f64>,
    capacity: usize,
}

impl Feed {
    pub fn open(sources: &[Placed], capacity: usize) -> Result<Self, TrustError> {
        let streams = sources
            .iter()
            .map(PlacedStream::open)
            .collect::<Result<Vec<_>, _>>()?;
        let columns = vec![0.0; streams.len() * 2 * capacity];
        Ok(Self {
            streams,
            columns,
            capacity,
        })
    }

    /// Reads `frames` (at most the capacity) from `start`; the rest of each
    /// column is silence.
    pub fn read(&mut self, start: u64, frames: usize) -> Result<(), TrustError> {
        let capacity = self.capacity;
        let results: Vec<Result<(), TrustError>> = self
            .streams
            .par_iter_mut()
            .zip(self.columns.par_chunks_mut(2 * capacity))
            .map(|(stream, column)| {
                let (left, right) = column.split_at_mut(capacity);
                left[frames..].fill(0.0);
                right[frames..].fill(0.0);
                stream.seek(start)?;
                stream.fill(&mut left[..frames], &mut right[..frames])
            })
            .collect();
        results.into_iter().collect()
    }

    /// Column of stream `index`: left, then right, each of the capacity.
    pub fn column(&self, index: usize) -> &[f64] {
        &self.columns[index * 2 * self.capacity..(index + 1) * 2 * self.capacity]
    }

    /// Sum of the columns with the given gains, written into `out` (2 x capacity).
    pub fn mix(&self, gains: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        for (index, &gain) in gains.iter().enumerate() {
            if gain != 0.0 {
                for (sum, sample) in out.iter_mut().zip(self.column(index)) {
                    *sum += gain * sample;
                }
            }
        }
    }
}
