//! The walk over the chunks of WAV, RF64 and BW64: where the sound lies, and how far
//! the header can be believed.
//!
//! Chunks: EBU Tech 3285 v2 (WAVE, bext), EBU Tech 3306 (RF64), ITU-R BS.2088 (BW64).

use std::path::Path;

use super::format::{Format, u32_at};
use super::layout::{Layout, lying, truncated};
use crate::error::AudioError;
use crate::note::HealthNote;
use crate::origin::Bytes;

/// Chunks looked at before the walk gives up: no honest file has as many.
const MOST_CHUNKS: usize = 4_096;
/// "Look elsewhere": in RF64 the size stands in `ds64`, in WAV the writer crashed.
const UNKNOWN_SIZE: u32 = u32::MAX;

#[derive(Default)]
struct Found {
    format: Option<Format>,
    data: Option<Data>,
    data_size_64: Option<u64>,
    time_reference: Option<u64>,
}

/// A data chunk as its header gives it.
#[derive(Clone, Copy)]
struct Data {
    offset: u64,
    size_32: u32,
}

/// Reads the chunks of a file that starts with RIFF, RF64 or BW64.
///
/// # Errors
/// [`AudioError::Damaged`] without format or data chunk, and what
/// [`Format::parse`] gives.
pub(crate) fn read_layout(path: &Path, bytes: &mut Bytes) -> Result<Layout, AudioError> {
    let mut walk = Walk::new(path, bytes)?;
    let container = walk.container()?;
    walk.run()?;
    walk.layout(container)
}

struct Walk<'a> {
    path: &'a Path,
    bytes: &'a mut Bytes,
    file_bytes: u64,
    found: Found,
    notes: Vec<HealthNote>,
}

impl<'a> Walk<'a> {
    fn new(path: &'a Path, bytes: &'a mut Bytes) -> Result<Self, AudioError> {
        let file_bytes = bytes.len().map_err(|e| AudioError::read(path, e))?;
        Ok(Walk {
            path,
            bytes,
            file_bytes,
            found: Found::default(),
            notes: Vec::new(),
        })
    }

    fn container(&mut self) -> Result<&'static str, AudioError> {
        let head = self.bytes_at::<12>(0)?;
        let form = head.as_ref().map(|head| (&head[..4], &head[8..]));
        match form {
            Some((b"RIFF", b"WAVE")) => Ok("WAV"),
            Some((b"RF64", b"WAVE")) => Ok("RF64"),
            Some((b"BW64", b"WAVE")) => Ok("BW64"),
            Some(_) => Err(AudioError::Unknown {
                path: self.path.to_path_buf(),
            }),
            None => Err(AudioError::damaged(self.path, "it ends inside its header")),
        }
    }

    /// Walks to the end of the file, or to where chunks stop making sense.
    fn run(&mut self) -> Result<(), AudioError> {
        let mut position = 12;
        for _ in 0..MOST_CHUNKS {
            let Some(head) = self.bytes_at::<8>(position)? else {
                return Ok(());
            };
            let size_32 = u32_at(&head, 4);
            let body = position + 8;
            let size = self.read_chunk(&head[..4], body, size_32)?;
            let Some(size) = size else { return Ok(()) };
            position = self.next_chunk(body, size)?;
        }
        Ok(())
    }

    /// Reads one chunk; returns its size, or `None` if the walk ends with it.
    fn read_chunk(
        &mut self,
        id: &[u8],
        body: u64,
        size_32: u32,
    ) -> Result<Option<u64>, AudioError> {
        let size = u64::from(size_32);
        match id {
            b"fmt " if self.found.format.is_none() => {
                let chunk = self.body(body, size.min(40))?;
                self.found.format = Some(Format::parse(self.path, &chunk)?);
            }
            b"ds64" => self.found.data_size_64 = self.read_ds64(body)?,
            b"bext" => self.found.time_reference = self.read_time_reference(body, size)?,
            b"data" if self.found.data.is_none() => {
                self.found.data = Some(Data {
                    offset: body,
                    size_32,
                });
                return self.data_size(body, size_32);
            }
            _ => {}
        }
        Ok((body.saturating_add(size) <= self.file_bytes).then_some(size))
    }

    /// Size of the data chunk if something may follow it, else `None`.
    fn data_size(&mut self, body: u64, size_32: u32) -> Result<Option<u64>, AudioError> {
        let size = match size_32 {
            UNKNOWN_SIZE => self.found.data_size_64,
            0 if !self.chunks_follow(body)? => None,
            size => Some(u64::from(size)),
        };
        Ok(size.filter(|size| body.saturating_add(*size) <= self.file_bytes))
    }

    /// Where the next chunk starts: after a pad byte for odd sizes, unless the
    /// writer forgot it.
    fn next_chunk(&mut self, body: u64, size: u64) -> Result<u64, AudioError> {
        let end = body + size;
        // A pad byte is zero, so no name can start with it.
        if size.is_multiple_of(2) || self.is_chunk(end)? {
            return Ok(end);
        }
        Ok(end + 1)
    }

    /// Whether a chunk with a readable name that fits the file starts here.
    fn is_chunk(&mut self, position: u64) -> Result<bool, AudioError> {
        let Some(head) = self.bytes_at::<8>(position)? else {
            return Ok(false);
        };
        let named = head[..4].iter().all(|b| (0x20..0x7F).contains(b));
        let end = position + 8 + u64::from(u32_at(&head, 4));
        Ok(named && end <= self.file_bytes)
    }

    /// Whether the rest of the file is nothing, or chunks up to its end.
    fn chunks_follow(&mut self, position: u64) -> Result<bool, AudioError> {
        let mut position = position;
        for _ in 0..MOST_CHUNKS {
            if position >= self.file_bytes {
                return Ok(true);
            }
            let Some(head) = self.bytes_at::<8>(position)? else {
                return Ok(false);
            };
            if !self.is_chunk(position)? {
                return Ok(false);
            }
            let size = u64::from(u32_at(&head, 4));
            position += 8 + size + size % 2;
        }
        Ok(false)
    }

    fn read_ds64(&mut self, body: u64) -> Result<Option<u64>, AudioError> {
        let sizes = self.bytes_at::<16>(body)?;
        Ok(sizes.map(|b| u64::from(u32_at(&b, 8)) | (u64::from(u32_at(&b, 12)) << 32)))
    }

    /// TimeReference: bytes 338 to 345 of the chunk (EBU Tech 3285 v2, 2.3).
    fn read_time_reference(&mut self, body: u64, size: u64) -> Result<Option<u64>, AudioError> {
        if size < 346 {
            return Ok(self.found.time_reference);
        }
        Ok(self.bytes_at::<8>(body + 338)?.map(u64::from_le_bytes))
    }

    /// Exactly `N` bytes, or `None` where the file ends before.
    fn bytes_at<const N: usize>(&mut self, position: u64) -> Result<Option<[u8; N]>, AudioError> {
        let mut buffer = [0; N];
        let count = self
            .bytes
            .read_at(position, &mut buffer)
            .map_err(|e| AudioError::read(self.path, e))?;
        Ok((count == N).then_some(buffer))
    }

    /// Up to `size` bytes; the caller bounds the size.
    fn body(&mut self, position: u64, size: u64) -> Result<Vec<u8>, AudioError> {
        let mut buffer = vec![0; size as usize];
        let count = self
            .bytes
            .read_at(position, &mut buffer)
            .map_err(|e| AudioError::read(self.path, e))?;
        buffer.truncate(count);
        Ok(buffer)
    }

    fn layout(mut self, container: &'static str) -> Result<Layout, AudioError> {
        let missing =
            |what: &str| AudioError::damaged(self.path, format!("it has no {what} chunk"));
        let format = self.found.format.ok_or_else(|| missing("`fmt `"))?;
        let data = self.found.data.ok_or_else(|| missing("`data`"))?;
        if !format.consistent {
            self.note_lying("the header's block size does not fit its channels and bits; it was worked out anew");
        }
        let held = self.file_bytes.saturating_sub(data.offset);
        let data_bytes = self.data_bytes(data, held, &format)?;
        let frames = data_bytes / format.frame_bytes() as u64;
        if frames == 0 {
            return Err(AudioError::Empty {
                path: self.path.to_path_buf(),
            });
        }
        Ok(Layout {
            container,
            format,
            data_offset: data.offset,
            frames,
            time_reference: self.found.time_reference,
            notes: self.notes,
        })
    }

    /// Bytes of sound that are there, however much the header promises.
    fn data_bytes(&mut self, data: Data, held: u64, format: &Format) -> Result<u64, AudioError> {
        let promised = match data.size_32 {
            UNKNOWN_SIZE => self.found.data_size_64,
            0 if self.chunks_follow(data.offset)? => return Ok(0),
            0 => None,
            size => Some(u64::from(size)),
        };
        let Some(promised) = promised else {
            self.note_lying("the header gives no length, as after a crash; everything up to the end of the file was read");
            return Ok(held);
        };
        if promised > held {
            self.note_truncated(promised, held, format);
        } else if let Some(wrapped) = self.wrapped(data, promised, held) {
            return Ok(wrapped);
        }
        Ok(promised.min(held))
    }

    /// Sound past 4 GiB in a plain WAV, whose 32-bit size started again at zero.
    fn wrapped(&mut self, data: Data, promised: u64, held: u64) -> Option<u64> {
        const WRAP: u64 = 1 << 32;
        let whole = promised + (held - promised) / WRAP * WRAP;
        if whole == promised || data.size_32 == UNKNOWN_SIZE {
            return None;
        }
        self.note_lying("the file is longer than a WAV header can say; it was read to its end");
        Some(whole)
    }

    fn note_lying(&mut self, what: &str) {
        self.notes.push(lying(self.path, what));
    }

    fn note_truncated(&mut self, promised: u64, held: u64, format: &Format) {
        let seconds = |bytes: u64| {
            (bytes / format.frame_bytes() as u64) as f64 / f64::from(format.sample_rate_hz)
        };
        self.notes
            .push(truncated(self.path, seconds(promised), seconds(held)));
    }
}
