//! Writes WAV files, whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use crate::dither::{Dither, quantise};
use crate::error::AudioError;
use crate::unfinished::{forget, remember, temporary_beside};
use crate::wav_header::Header;

/// Bytes gathered before they are written.
const BUFFER_BYTES: usize = 256 * 1024;
/// Seed of the first channel's dither; the others follow.
const DITHER_SEED: u64 = 0x6375_7065_6C00_0001;

/// How samples are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SampleFormat {
    /// 32-bit float: the 64-bit sample rounded once, nothing limited.
    F32,
    /// 24-bit integer with triangular dither of a fixed seed, limited at full scale.
    I24,
}

impl SampleFormat {
    /// Bytes of one sample.
    pub(crate) fn bytes(self) -> u16 {
        match self {
            SampleFormat::F32 => 4,
            SampleFormat::I24 => 3,
        }
    }
}

/// What was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    /// Frames in the file.
    pub frames: u64,
    /// Samples that had to be stopped at full scale (integers only).
    pub limited_samples: u64,
}

/// Writes a WAV file; it becomes RF64 by itself past 4 GiB.
///
/// Samples go to a temporary file in the target's folder, which takes the target's
/// name in [`WavWriter::finish`]. If the writer is dropped before, or anything
/// fails, the temporary file is removed and the target stays as it was.
#[derive(Debug)]
pub struct WavWriter {
    target: PathBuf,
    temporary: PathBuf,
    output: Option<BufWriter<File>>,
    header: Header,
    dithers: Vec<Dither>,
    bytes: Vec<u8>,
    limited_samples: u64,
}

impl WavWriter {
    /// Starts a file of `channels` channels (1 or 2).
    ///
    /// # Errors
    /// [`AudioError::Write`] or [`AudioError::DiskFull`] if the folder cannot be
    /// written to, [`AudioError::Shape`] for other numbers of channels.
    pub fn create(
        path: &Path,
        sample_rate_hz: u32,
        channels: usize,
        format: SampleFormat,
    ) -> Result<Self, AudioError> {
        if !(1..=2).contains(&channels) {
            return Err(AudioError::Shape {
                path: path.to_path_buf(),
                given: channels,
                allowed: 2,
            });
        }
        let header = Header {
            sample_rate_hz,
            channels: channels as u16,
            format,
            frames: 0,
        };
        let temporary = temporary_beside(path);
        remember(&temporary);
        let mut writer = WavWriter {
            target: path.to_path_buf(),
            temporary,
            output: None,
            header,
            dithers: (0..channels as u64)
                .map(|channel| Dither::new(DITHER_SEED + channel))
                .collect(),
            bytes: Vec::new(),
            limited_samples: 0,
        };
        writer.start().map_err(|e| AudioError::write(path, e))?;
        Ok(writer)
    }

    /// Appends a block: one slice a channel, all of one length.
    ///
    /// # Errors
    /// [`AudioError::Shape`] for other shapes; [`AudioError::DiskFull`] and
    /// [`AudioError::Write`] if the system refuses.
    pub fn write<C: AsRef<[f64]>>(&mut self, channels: &[C]) -> Result<(), AudioError> {
        let frames = channels.first().map_or(0, |channel| channel.as_ref().len());
        let even = channels
            .iter()
            .all(|channel| channel.as_ref().len() == frames);
        if channels.len() != usize::from(self.header.channels) || !even {
            return Err(AudioError::Shape {
                path: self.target.clone(),
                given: channels.len(),
                allowed: usize::from(self.header.channels),
            });
        }
        self.encode(channels, frames);
        self.header.frames += frames as u64;
        let written = match &mut self.output {
            Some(output) => output.write_all(&self.bytes),
            None => Err(io::Error::other("the file was given up")),
        };
        written.map_err(|e| self.give_up(e))
    }

    /// Completes the file and gives it its name.
    ///
    /// # Errors
    /// [`AudioError::DiskFull`] and [`AudioError::Write`]; the target then is as it
    /// was before.
    pub fn finish(mut self) -> Result<Written, AudioError> {
        self.complete().map_err(|e| self.give_up(e))?;
        forget(&self.temporary);
        Ok(Written {
            frames: self.header.frames,
            limited_samples: self.limited_samples,
        })
    }

    fn start(&mut self) -> io::Result<()> {
        let file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&self.temporary)?;
        let mut output = BufWriter::with_capacity(BUFFER_BYTES, file);
        output.write_all(&self.header.bytes())?;
        self.output = Some(output);
        Ok(())
    }

    fn complete(&mut self) -> io::Result<()> {
        let Some(mut output) = self.output.take() else {
            return Err(io::Error::other("the file was given up"));
        };
        if self.header.data_bytes() % 2 == 1 {
            output.write_all(&[0])?;
        }
        output.flush()?;
        let mut file = output
            .into_inner()
            .map_err(io::IntoInnerError::into_error)?;
        file.seek(SeekFrom::Start(0))?;
        file.write_all(&self.header.bytes())?;
        file.sync_all()?;
        drop(file);
        fs::rename(&self.temporary, &self.target)
    }

    /// Removes the temporary file and wraps the error.
    fn give_up(&mut self, error: io::Error) -> AudioError {
        self.discard();
        AudioError::write(&self.target, error)
    }

    fn discard(&mut self) {
        if let Some(output) = self.output.take() {
            // Not flushed: what is gathered goes with the file.
            drop(output.into_parts());
        }
        let _ = fs::remove_file(&self.temporary);
        forget(&self.temporary);
    }

    fn encode<C: AsRef<[f64]>>(&mut self, channels: &[C], frames: usize) {
        self.bytes.clear();
        self.bytes
            .reserve(frames * self.header.frame_bytes() as usize);
        for frame in 0..frames {
            for (channel, dither) in channels.iter().zip(&mut self.dithers) {
                let sample = channel.as_ref()[frame];
                match self.header.format {
                    SampleFormat::F32 => self.bytes.extend((sample as f32).to_le_bytes()),
                    SampleFormat::I24 => {
                        let (value, limited) = quantise(sample, 24, dither);
                        self.limited_samples += u64::from(limited);
                        self.bytes.extend_from_slice(&value.to_le_bytes()[..3]);
                    }
                }
            }
        }
    }
}

impl Drop for WavWriter {
    fn drop(&mut self) {
        if self.output.is_some() {
            self.discard();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `/dev/full` answers every write as a full disk does.
    #[cfg(target_os = "linux")]
    #[test]
    fn a_full_disk_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("mix.wav");
        let mut writer = WavWriter::create(&path, 48_000, 1, SampleFormat::F32).unwrap();
        let full = OpenOptions::new().write(true).open("/dev/full").unwrap();
        writer.output = Some(BufWriter::with_capacity(64, full));
        let error = writer.write(&[[0.5; 1_000]]).unwrap_err();
        assert!(error.to_string().ends_with("mix.wav`: the disk is full"));
        assert!(error.hint().unwrap().starts_with("free some space"));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
        assert!(writer.write(&[[0.5]]).is_err());
        assert!(writer.finish().is_err());
        assert!(!path.exists());
    }
}
