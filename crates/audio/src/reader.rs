//! Reads any audio file that is understood.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::compressed::CompressedReader;
use crate::error::AudioError;
use crate::info::FileInfo;
use crate::note::HealthNote;
use crate::origin::Origin;
use crate::pcm::PcmReader;
use crate::planar::Planar;
use crate::tags::Tags;

/// An open audio file, handing on its samples as they are.
///
/// Samples that are not finite are handed on too: [`crate::HealthMeter`] counts
/// them, [`crate::TrackReader`] silences them.
///
/// ```no_run
/// use cupel_audio::{Planar, Reader};
/// # fn main() -> Result<(), cupel_audio::AudioError> {
/// let mut reader = Reader::open("kick.wav".as_ref())?;
/// let mut block = Planar::default();
/// let mut peak: f64 = 0.0;
/// while reader.read(&mut block, 8192)? > 0 {
///     peak = block.channels.iter().flatten().fold(peak, |p, x| p.max(x.abs()));
/// }
/// # Ok(()) }
/// ```
#[derive(Debug)]
pub struct Reader {
    inner: Inner,
}

#[derive(Debug)]
enum Inner {
    Pcm(Box<PcmReader>),
    Compressed(Box<CompressedReader>),
}

impl Reader {
    /// Opens a file and reads its header.
    ///
    /// # Errors
    /// [`AudioError`]: unreadable, unknown or unsupported formats, more than two
    /// channels, absurd rates, files without sound.
    pub fn open(path: &Path) -> Result<Self, AudioError> {
        Self::from_origin(&Origin::File(path.to_path_buf()))
    }

    /// Opens a whole file that is held in memory; `name` is for messages.
    ///
    /// # Errors
    /// As [`Reader::open`].
    pub fn from_bytes(name: &str, bytes: impl Into<Arc<[u8]>>) -> Result<Self, AudioError> {
        Self::from_origin(&Origin::Memory(PathBuf::from(name), bytes.into()))
    }

    fn from_origin(origin: &Origin) -> Result<Self, AudioError> {
        let mut head = [0; 12];
        let count = origin
            .open()?
            .read_at(0, &mut head)
            .map_err(|e| AudioError::read(origin.path(), e))?;
        if count == 0 {
            return Err(AudioError::Empty {
                path: origin.path().to_path_buf(),
            });
        }
        let inner = match &head[..4] {
            b"RIFF" | b"RF64" | b"BW64" | b"FORM" => Inner::Pcm(Box::new(PcmReader::open(origin)?)),
            _ => Inner::Compressed(Box::new(CompressedReader::open(origin, &head)?)),
        };
        Ok(Reader { inner })
    }

    /// What the file says of itself.
    pub fn info(&self) -> &FileInfo {
        match &self.inner {
            Inner::Pcm(reader) => reader.info(),
            Inner::Compressed(reader) => reader.info(),
        }
    }

    /// Year and genre as tagged; compressed files only, others seldom have them.
    pub fn tags(&mut self) -> Tags {
        match &mut self.inner {
            Inner::Pcm(_) => Tags::default(),
            Inner::Compressed(reader) => reader.tags(),
        }
    }

    /// Reads up to `max_frames` frames into `block`, which then holds exactly the
    /// frames returned; 0 is the end. Fewer than asked for come only at the end.
    ///
    /// # Errors
    /// [`AudioError::Read`] if the system refuses. Damaged and cut-off sound is no
    /// error: it is read as far as it goes, and [`Reader::notes`] tells.
    pub fn read(&mut self, block: &mut Planar, max_frames: usize) -> Result<usize, AudioError> {
        match &mut self.inner {
            Inner::Pcm(reader) => reader.read(block, max_frames),
            Inner::Compressed(reader) => reader.read(block, max_frames),
        }
    }

    /// Reads uncompressed sound straight into both sides, of one length, mono into
    /// both, without what is not finite; `None` for other sound.
    pub(crate) fn read_sides(
        &mut self,
        left: &mut [f64],
        right: &mut [f64],
    ) -> Option<Result<usize, AudioError>> {
        let Inner::Pcm(reader) = &mut self.inner else {
            return None;
        };
        let read = reader.read_sides(left, right);
        if let (Ok(count), true) = (&read, reader.may_hold_non_finite()) {
            silence_non_finite(&mut left[..*count]);
            silence_non_finite(&mut right[..*count]);
        }
        Some(read)
    }

    /// Goes to a frame, exactly; past the end, reading gives nothing.
    ///
    /// In lossy files it decodes from the start up to the frame, because their
    /// decoders remember: so the samples are those of an unbroken read.
    ///
    /// # Errors
    /// [`AudioError::Read`] if the system refuses.
    pub fn seek(&mut self, frame: u64) -> Result<(), AudioError> {
        match &mut self.inner {
            Inner::Pcm(reader) => reader.seek(frame),
            Inner::Compressed(reader) => reader.seek(frame),
        }
    }

    /// What was found odd about the file itself so far: complete once it has been
    /// read to its end.
    pub fn notes(&self) -> Vec<HealthNote> {
        match &self.inner {
            Inner::Pcm(reader) => reader.notes(),
            Inner::Compressed(reader) => reader.notes(),
        }
    }
}

/// Replaces NaN and infinities by silence.
pub(crate) fn silence_non_finite(channel: &mut [f64]) {
    // An "or" over all samples, unlike a sum, needs no order: many at a time.
    if channel.iter().fold(false, |bad, x| bad | !x.is_finite()) {
        for sample in channel.iter_mut().filter(|x| !x.is_finite()) {
            *sample = 0.0;
        }
    }
}
