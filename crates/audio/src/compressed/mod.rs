//! Compressed sound: FLAC, MP3, AAC and ALAC in MP4, Ogg Vorbis.
//!
//! The `symphonia` crate takes containers and codings apart; here stands what it
//! leaves open: encoder delay in MP4, exact seeking, silence in place of damaged
//! packets, and files that end early.

mod kind;
mod stream;

use std::path::Path;

use crate::error::{AudioError, file_name};
use crate::info::{FileInfo, check_shape};
use crate::mp4::{Trim, survey};
use crate::note::{HealthCode, HealthGrade, HealthNote};
use crate::origin::Origin;
use crate::pcm::truncated;
use crate::planar::Planar;
use crate::tags::Tags;
use kind::Kind;
use stream::{Next, Stream};

/// An open file of any of these formats.
#[derive(Debug)]
pub(crate) struct CompressedReader {
    origin: Origin,
    kind: Kind,
    info: FileInfo,
    stream: Stream,
    trim: Trim,
    /// Next frame to hand on, counted without the delay.
    position: u64,
    /// Decoded frame that stands first in `pending`, counted with the delay.
    pending_start: u64,
    pending: Vec<Vec<f64>>,
    damage: Damage,
    notes: Vec<HealthNote>,
    ended: bool,
}

/// Packets that could not be decoded.
#[derive(Clone, Copy, Debug, Default)]
struct Damage {
    packets: u64,
    first_frame: Option<u64>,
}

impl CompressedReader {
    /// Opens a file whose first bytes are `head`.
    pub(crate) fn open(origin: &Origin, head: &[u8]) -> Result<Self, AudioError> {
        let path = origin.path();
        let kind = Kind::of(path, head)?;
        let trim = match kind {
            Kind::Mp4 => mp4_trim(origin)?,
            _ => Trim::default(),
        };
        let mut stream = Stream::open(origin, kind)?;
        let mut pending = Vec::new();
        let shape = stream.first(path, &mut pending)?;
        check_shape(path, shape.sample_rate_hz, shape.channels)?;
        let info = FileInfo {
            container: kind.container().to_string(),
            encoding: stream.encoding(&shape),
            bits: stream.bits(&shape),
            sample_rate_hz: shape.sample_rate_hz,
            channels: shape.channels,
            frames: frames(kind, &stream, &trim),
            time_reference: None,
            lossy: stream.is_lossy(),
        };
        if info.frames == Some(0) {
            return Err(AudioError::Empty {
                path: path.to_path_buf(),
            });
        }
        Ok(CompressedReader {
            notes: unknown_delay(path, kind, &stream, &trim)
                .into_iter()
                .collect(),
            origin: origin.clone(),
            kind,
            info,
            stream,
            trim,
            position: 0,
            pending_start: 0,
            pending,
            damage: Damage::default(),
            ended: false,
        })
    }

    pub(crate) fn info(&self) -> &FileInfo {
        &self.info
    }

    pub(crate) fn tags(&mut self) -> Tags {
        self.stream.tags()
    }

    pub(crate) fn notes(&self) -> Vec<HealthNote> {
        let mut notes = self.notes.clone();
        notes.extend(self.damage_note());
        notes
    }

    /// Reads up to `max_frames` frames into `block`, which then has just these.
    pub(crate) fn read(
        &mut self,
        block: &mut Planar,
        max_frames: usize,
    ) -> Result<usize, AudioError> {
        block.resize(self.info.channels, 0);
        while block.frames() < max_frames {
            let taken = self.take(block, max_frames - block.frames());
            if taken == 0 && !self.decode_next() {
                break;
            }
        }
        Ok(block.frames())
    }

    /// Goes to a frame, exactly.
    pub(crate) fn seek(&mut self, frame: u64) -> Result<(), AudioError> {
        let target = frame.saturating_add(self.trim.delay_frames);
        if self.stream.seeks_exactly(self.kind) {
            if let Some(start) = self.stream.seek(target) {
                self.restart(frame, start);
                return Ok(());
            }
            self.reopen()?;
        } else if frame < self.position {
            self.reopen()?;
        }
        self.position = frame;
        Ok(())
    }

    fn reopen(&mut self) -> Result<(), AudioError> {
        self.stream = Stream::open(&self.origin, self.kind)?;
        self.restart(0, 0);
        Ok(())
    }

    fn restart(&mut self, position: u64, pending_start: u64) {
        self.position = position;
        self.pending_start = pending_start;
        self.pending.iter_mut().for_each(Vec::clear);
        self.ended = false;
    }

    /// Moves decoded frames into the block; returns how many.
    fn take(&mut self, block: &mut Planar, wanted: usize) -> usize {
        let held = self.pending.first().map_or(0, Vec::len);
        let next = self.position.saturating_add(self.trim.delay_frames);
        let from = usize::try_from(next.saturating_sub(self.pending_start)).unwrap_or(usize::MAX);
        let count = held.saturating_sub(from).min(wanted).min(self.left());
        if count == 0 {
            return 0;
        }
        for (out, decoded) in block.channels.iter_mut().zip(&self.pending) {
            out.extend_from_slice(&decoded[from..from + count]);
        }
        self.position += count as u64;
        count
    }

    /// Frames left before the stated end.
    fn left(&self) -> usize {
        let end = self.trim.frames.unwrap_or(u64::MAX);
        usize::try_from(end.saturating_sub(self.position)).unwrap_or(usize::MAX)
    }

    /// Decodes the next packet into `pending`; `false` at the end.
    fn decode_next(&mut self) -> bool {
        if self.ended || self.left() == 0 {
            return false;
        }
        self.pending_start += self.pending.first().map_or(0, Vec::len) as u64;
        match self.stream.next(self.info.channels, &mut self.pending) {
            Next::Decoded => true,
            Next::Damaged => {
                let played = self.pending_start.saturating_sub(self.trim.delay_frames);
                self.damage.packets += 1;
                self.damage.first_frame.get_or_insert(played);
                true
            }
            Next::End => {
                self.pending.iter_mut().for_each(Vec::clear);
                self.end();
                false
            }
        }
    }

    /// Notes how the promised and the real length differ, once.
    fn end(&mut self) {
        self.ended = true;
        let rate_hz = f64::from(self.info.sample_rate_hz);
        let held = self.pending_start.saturating_sub(self.trim.delay_frames);
        let slack = if self.info.lossy {
            self.info.sample_rate_hz / 20
        } else {
            0
        };
        let Some(promised) = self.info.frames else {
            return;
        };
        let known = self.notes.iter().any(|n| n.code == HealthCode::Truncated);
        if promised > held + u64::from(slack) && !known {
            self.notes.push(truncated(
                self.origin.path(),
                promised as f64 / rate_hz,
                held as f64 / rate_hz,
            ));
        }
    }

    fn damage_note(&self) -> Option<HealthNote> {
        let at_s = self.damage.first_frame? as f64 / f64::from(self.info.sample_rate_hz);
        let packets = self.damage.packets;
        let name = file_name(self.origin.path());
        let text = format!(
            "{packets} damaged packets, the first at {at_s:.2} s, play as silence; export `{name}` again, or copy it once more"
        );
        Some(
            HealthNote::new(HealthCode::DamagedPackets, HealthGrade::Mend, text)
                .at(at_s)
                .with_value(packets as f64, "packets"),
        )
    }
}

/// The trim of an MP4 file that is whole; of others, the demuxer reads nothing.
fn mp4_trim(origin: &Origin) -> Result<Trim, AudioError> {
    let path = origin.path();
    let survey = survey(&mut origin.open()?).map_err(|e| AudioError::read(path, e))?;
    if survey.missing_bytes > 0 {
        let reason = format!(
            "the file is cut off, {} bytes are missing",
            survey.missing_bytes
        );
        return Err(AudioError::damaged(path, reason));
    }
    Ok(survey.trim)
}

/// Frames that play, where the header can be relied upon.
fn frames(kind: Kind, stream: &Stream, trim: &Trim) -> Option<u64> {
    match kind {
        Kind::Mp4 if trim.frames.is_some() => trim.frames,
        Kind::Mp4 => stream
            .frames()
            .map(|all| all.saturating_sub(trim.delay_frames)),
        Kind::Mp3 if !stream.states_delay() => None,
        Kind::Adts => None,
        _ => stream.frames(),
    }
}

/// Lossy files that do not say how late their sound starts.
fn unknown_delay(path: &Path, kind: Kind, stream: &Stream, trim: &Trim) -> Option<HealthNote> {
    let unknown = match kind {
        Kind::Mp3 => !stream.states_delay(),
        Kind::Adts => true,
        Kind::Mp4 => stream.is_lossy() && !trim.stated,
        _ => false,
    };
    unknown.then(|| {
        let name = file_name(path);
        let text = format!(
            "`{name}` does not say how much silence its encoder put first, so it may start up to 0.05 s late; use WAV or FLAC where timing matters"
        );
        HealthNote::new(HealthCode::UnknownDelay, HealthGrade::Info, text)
    })
}
