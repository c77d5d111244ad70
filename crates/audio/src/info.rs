//! What a file says of itself.

use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::error::AudioError;

/// Rates below this are refused: no music is kept at them (common practice, no source).
pub const LOWEST_RATE_HZ: u32 = 4_000;
/// Rates above this are refused: twice the highest rate in use (common practice, no source).
pub const HIGHEST_RATE_HZ: u32 = 768_000;

/// Extensions of audio files: those that are read, and those that get a clear error.
const AUDIO_EXTENSIONS: [&str; 22] = [
    "wav", "wave", "bwf", "rf64", "bw64", "aif", "aiff", "aifc", "flac", "mp3", "m4a", "m4b",
    "mp4", "alac", "aac", "ogg", "oga", "opus", "wv", "w64", "caf", "wma",
];

/// What a file's header says, checked against the bytes that are there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileInfo {
    /// The wrapping: `WAV`, `RF64`, `BW64`, `AIFF`, `FLAC`, `MP3`, `MP4`, `Ogg`, `AAC`.
    pub container: String,
    /// The coding in plain words: `24-bit integer`, `32-bit float`, `FLAC`, `MP3`.
    pub encoding: String,
    /// Word length; 0 where the coding has none (lossy).
    pub bits: u32,
    /// Sample rate.
    pub sample_rate_hz: u32,
    /// 1 or 2.
    pub channels: usize,
    /// Frames that the file plays, encoder delay and padding trimmed; `None` where
    /// only reading to the end tells.
    pub frames: Option<u64>,
    /// Where the file starts, in samples since midnight (bext chunk, EBU Tech 3285
    /// v2, TimeReference), if it says so.
    pub time_reference: Option<u64>,
    /// Whether the coding throws sound away.
    pub lossy: bool,
}

impl FileInfo {
    /// Length in seconds, where known.
    pub fn seconds(&self) -> Option<f64> {
        let rate_hz = f64::from(self.sample_rate_hz);
        self.frames.map(|frames| frames as f64 / rate_hz)
    }
}

/// Whether the name looks like an audio file, by extension, in any case.
///
/// Formats that are known but not read count too, so that they get an error that
/// says how to mend rather than being passed over in silence.
pub fn is_audio_name(path: &Path) -> bool {
    let Some(extension) = path.extension().and_then(|e| e.to_str()) else {
        return false;
    };
    let hidden = path
        .file_name()
        .is_some_and(|name| name.to_string_lossy().starts_with('.'));
    !hidden && AUDIO_EXTENSIONS.contains(&extension.to_ascii_lowercase().as_str())
}

/// Refuses shapes that nothing here can play.
pub(crate) fn check_shape(
    path: &Path,
    sample_rate_hz: u32,
    channels: usize,
) -> Result<(), AudioError> {
    let path = || path.to_path_buf();
    match channels {
        0 => return Err(AudioError::NoChannels { path: path() }),
        1 | 2 => {}
        channels => {
            return Err(AudioError::Channels {
                path: path(),
                channels,
            });
        }
    }
    if !(LOWEST_RATE_HZ..=HIGHEST_RATE_HZ).contains(&sample_rate_hz) {
        return Err(AudioError::Rate {
            path: path(),
            sample_rate_hz,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names() {
        for name in ["Kick.WAV", "a/b.flac", "x.aif", "mix.m4a", "old.w64"] {
            assert!(is_audio_name(Path::new(name)), "{name}");
        }
        for name in ["kick", "notes.txt", ".cupel-kick.wav", "._kick.wav", "wav"] {
            assert!(!is_audio_name(Path::new(name)), "{name}");
        }
    }
}
