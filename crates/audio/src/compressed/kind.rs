//! Which format a file is, from its first bytes.

use std::path::Path;

use crate::error::AudioError;

/// A container that is read through `symphonia`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Flac,
    Mp3,
    Adts,
    Mp4,
    Ogg,
}

impl Kind {
    /// Tells the format; the extension counts only where the bytes say nothing.
    ///
    /// # Errors
    /// [`AudioError::Unsupported`] for formats that are known and not read, else
    /// [`AudioError::Unknown`].
    pub(crate) fn of(path: &Path, head: &[u8]) -> Result<Kind, AudioError> {
        if let Some(kind) = by_bytes(head) {
            return Ok(kind);
        }
        if let Some(what) = unsupported(head) {
            return Err(AudioError::unsupported(path, what));
        }
        match extension(path).as_str() {
            "mp3" => Ok(Kind::Mp3),
            "aac" => Ok(Kind::Adts),
            _ => Err(AudioError::Unknown {
                path: path.to_path_buf(),
            }),
        }
    }

    /// The container's name.
    pub(crate) fn container(self) -> &'static str {
        match self {
            Kind::Flac => "FLAC",
            Kind::Mp3 => "MP3",
            Kind::Adts => "AAC",
            Kind::Mp4 => "MP4",
            Kind::Ogg => "Ogg",
        }
    }

    /// The usual extension, as a hint for the prober.
    pub(crate) fn extension(self) -> &'static str {
        match self {
            Kind::Flac => "flac",
            Kind::Mp3 => "mp3",
            Kind::Adts => "aac",
            Kind::Mp4 => "m4a",
            Kind::Ogg => "ogg",
        }
    }
}

fn by_bytes(head: &[u8]) -> Option<Kind> {
    match head {
        [b'f', b'L', b'a', b'C', ..] => Some(Kind::Flac),
        [b'O', b'g', b'g', b'S', ..] => Some(Kind::Ogg),
        [_, _, _, _, b'f', b't', b'y', b'p', ..] => Some(Kind::Mp4),
        [b'I', b'D', b'3', ..] => Some(Kind::Mp3),
        // MPEG audio: eleven sync bits; layer bits 00 are ADTS.
        [0xFF, second, ..] if second & 0xF6 == 0xF0 => Some(Kind::Adts),
        [0xFF, second, ..] if second & 0xE0 == 0xE0 => Some(Kind::Mp3),
        _ => None,
    }
}

fn unsupported(head: &[u8]) -> Option<&'static str> {
    match head {
        [b'R', b'I', b'F', b'X', ..] => Some("big-endian WAV (RIFX)"),
        [b'r', b'i', b'f', b'f', ..] => Some("W64"),
        [b'w', b'v', b'p', b'k', ..] => Some("WavPack"),
        [b'c', b'a', b'f', b'f', ..] => Some("CAF"),
        [b'M', b'A', b'C', b' ', ..] => Some("Monkey's Audio"),
        [b'.', b's', b'n', b'd', ..] => Some("AU"),
        [b'D', b'S', b'D', b' ', ..] => Some("DSD"),
        [0x1A, 0x45, 0xDF, 0xA3, ..] => Some("Matroska or WebM"),
        [0x30, 0x26, 0xB2, 0x75, ..] => Some("Windows Media"),
        _ => None,
    }
}

fn extension(path: &Path) -> String {
    path.extension()
        .map(|e| e.to_string_lossy().to_ascii_lowercase())
        .unwrap_or_default()
}
