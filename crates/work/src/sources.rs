//! Files as the trust judgement reads them.

use std::path::{Path, PathBuf};

use cupel_audio::{AudioError, TrackReader};
use cupel_trust::{Source, Stream, TrustError};

/// A file with its place in the session.
pub(crate) struct FileSource {
    path: PathBuf,
    name: String,
    sample_rate_hz: u32,
    start_frames: i64,
    frames: u64,
}

impl FileSource {
    /// # Errors
    /// [`AudioError`] where the file cannot be opened.
    pub(crate) fn new(
        path: &Path,
        name: &str,
        sample_rate_hz: u32,
        start_frames: i64,
        seconds: f64,
    ) -> Result<Self, AudioError> {
        let reader = TrackReader::open(path, sample_rate_hz, start_frames)?;
        let counted = || {
            let frames = (seconds * f64::from(sample_rate_hz)).round() as i64;
            (frames + start_frames).max(0) as u64
        };
        Ok(Self {
            path: path.to_owned(),
            name: name.to_owned(),
            sample_rate_hz,
            start_frames,
            frames: reader.frames().unwrap_or_else(counted),
        })
    }
}

impl Source for FileSource {
    fn open(&self) -> Result<Box<dyn Stream>, TrustError> {
        let reader = TrackReader::open(&self.path, self.sample_rate_hz, self.start_frames)
            .map_err(|error| failed(&self.name, &error))?;
        Ok(Box::new(FileStream {
            reader,
            name: self.name.clone(),
        }))
    }

    fn frames(&self) -> u64 {
        self.frames
    }
}

struct FileStream {
    reader: TrackReader,
    name: String,
}

impl Stream for FileStream {
    fn read(&mut self, left: &mut [f64], right: &mut [f64]) -> Result<usize, TrustError> {
        self.reader
            .read(left, right)
            .map_err(|error| failed(&self.name, &error))
    }

    fn seek(&mut self, frame: u64) -> Result<(), TrustError> {
        self.reader
            .seek(frame)
            .map_err(|error| failed(&self.name, &error))
    }
}

fn failed(name: &str, error: &AudioError) -> TrustError {
    TrustError::Read {
        file: name.to_owned(),
        reason: error.to_string(),
    }
}
