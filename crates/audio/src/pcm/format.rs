//! How samples are coded, and the `fmt ` chunk of WAV that says so.
//!
//! Tags 1 (integer), 3 (float) and 0xFFFE (extensible, the first word of whose
//! GUID is one of the others): Microsoft, "Multiple channel audio data and WAVE
//! files"; values from memory, checked against files of other writers.

use std::path::Path;

use crate::error::AudioError;
use crate::info::check_shape;

/// How a sample is coded; `Big` is big-endian, the others little-endian.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Encoding {
    /// Unsigned, 128 is silence.
    U8,
    /// Signed integers.
    I8,
    I16,
    I16Big,
    I24,
    I24Big,
    I32,
    I32Big,
    /// IEEE floats.
    F32,
    F32Big,
    F64,
    F64Big,
}

impl Encoding {
    /// Bytes of one sample.
    pub(crate) fn bytes(self) -> usize {
        match self {
            Encoding::U8 | Encoding::I8 => 1,
            Encoding::I16 | Encoding::I16Big => 2,
            Encoding::I24 | Encoding::I24Big => 3,
            Encoding::I32 | Encoding::I32Big | Encoding::F32 | Encoding::F32Big => 4,
            Encoding::F64 | Encoding::F64Big => 8,
        }
    }

    /// Whether samples may be no numbers.
    pub(crate) fn is_float(self) -> bool {
        use Encoding::{F32, F32Big, F64, F64Big};
        matches!(self, F32 | F32Big | F64 | F64Big)
    }
}

/// What the chunk says, made consistent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Format {
    pub(crate) encoding: Encoding,
    /// Valid bits: 20 in a 24-bit word is 20.
    pub(crate) bits: u32,
    pub(crate) channels: usize,
    pub(crate) sample_rate_hz: u32,
    /// Whether the chunk's own block size is that of its channels and bits.
    pub(crate) consistent: bool,
}

impl Format {
    /// Bytes of one frame.
    pub(crate) fn frame_bytes(&self) -> usize {
        self.encoding.bytes() * self.channels
    }

    /// The coding in plain words.
    pub(crate) fn describe(&self) -> String {
        let kind = if self.encoding.is_float() {
            "float"
        } else {
            "integer"
        };
        format!("{}-bit {kind}", self.bits)
    }

    /// Reads the chunk's body, of which at least 16 bytes are needed.
    pub(crate) fn parse(path: &Path, body: &[u8]) -> Result<Format, AudioError> {
        if body.len() < 16 {
            return Err(AudioError::damaged(path, "its `fmt ` chunk is too short"));
        }
        let channels = usize::from(u16_at(body, 2));
        let sample_rate_hz = u32_at(body, 4);
        let block_bytes = usize::from(u16_at(body, 12));
        let word_bits = u32::from(u16_at(body, 14));
        let (tag, valid_bits) = tag_and_bits(body, word_bits);
        check_shape(path, sample_rate_hz, channels)?;
        let word_bytes = word_bytes(block_bytes, channels, word_bits);
        let encoding = encoding(path, tag, word_bytes, word_bits)?;
        Ok(Format {
            encoding,
            bits: plausible_bits(encoding, valid_bits),
            channels,
            sample_rate_hz,
            consistent: block_bytes == encoding.bytes() * channels,
        })
    }
}

/// The coding's tag and the valid bits; extensible chunks name both further on.
fn tag_and_bits(body: &[u8], word_bits: u32) -> (u16, u32) {
    const EXTENSIBLE: u16 = 0xFFFE;
    let tag = u16_at(body, 0);
    if tag == EXTENSIBLE && body.len() >= 40 {
        (u16_at(body, 24), u32::from(u16_at(body, 18)))
    } else if tag == EXTENSIBLE {
        (1, word_bits)
    } else {
        (tag, word_bits)
    }
}

/// Bytes of one word: from the block size where it fits, else from the bits.
fn word_bytes(block_bytes: usize, channels: usize, word_bits: u32) -> usize {
    let from_bits = word_bits.div_ceil(8) as usize;
    let from_block = block_bytes / channels;
    let fits = block_bytes.is_multiple_of(channels) && (from_bits..=8).contains(&from_block);
    if fits && from_block > 0 {
        from_block
    } else {
        from_bits
    }
}

fn encoding(
    path: &Path,
    tag: u16,
    word_bytes: usize,
    word_bits: u32,
) -> Result<Encoding, AudioError> {
    match (tag, word_bytes) {
        (1, 1) => Ok(Encoding::U8),
        (1, 2) => Ok(Encoding::I16),
        (1, 3) => Ok(Encoding::I24),
        (1, 4) => Ok(Encoding::I32),
        (3, 4) => Ok(Encoding::F32),
        (3, 8) => Ok(Encoding::F64),
        (1 | 3, _) => Err(AudioError::unsupported(
            path,
            format!("WAV with {word_bits}-bit samples"),
        )),
        _ => Err(AudioError::unsupported(path, tag_name(tag))),
    }
}

fn tag_name(tag: u16) -> String {
    match tag {
        0x02 | 0x11 => "ADPCM in WAV".into(),
        0x06 | 0x07 => "companded (A-law, mu-law) WAV".into(),
        0x50 | 0x55 => "MPEG audio inside WAV".into(),
        other => format!("WAV with coding 0x{other:04X}"),
    }
}

/// Valid bits, or the word's where they make no sense.
pub(super) fn plausible_bits(encoding: Encoding, valid_bits: u32) -> u32 {
    let word = 8 * encoding.bytes() as u32;
    if encoding.is_float() || valid_bits == 0 || valid_bits > word {
        word
    } else {
        valid_bits
    }
}

pub(crate) fn u16_at(bytes: &[u8], at: usize) -> u16 {
    u16::from_le_bytes([bytes[at], bytes[at + 1]])
}

pub(crate) fn u32_at(bytes: &[u8], at: usize) -> u32 {
    u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
}
