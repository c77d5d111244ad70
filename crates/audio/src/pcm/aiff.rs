//! The chunks of AIFF and AIFF-C.
//!
//! Layout: Apple, "Audio Interchange File Format: AIFF", version 1.3, 1989, and the
//! AIFF-C draft of 1991 (from memory, checked against files of other writers).

use std::path::Path;

use super::format::{Encoding, Format, plausible_bits};
use super::layout::{Layout, lying, truncated};
use crate::error::AudioError;
use crate::info::check_shape;
use crate::note::HealthNote;
use crate::origin::Bytes;

/// Chunks looked at before the walk gives up.
const MOST_CHUNKS: usize = 4_096;
/// Bytes of the sound chunk before its first sample.
const SOUND_HEAD_BYTES: u64 = 8;

/// The common chunk.
#[derive(Clone, Copy)]
struct Common {
    format: Format,
    frames: u64,
}

/// The sound chunk: first byte of the sound, and bytes that the header promises.
#[derive(Clone, Copy)]
struct Sound {
    offset: u64,
    bytes: u64,
}

/// Reads the chunks of a file that starts with FORM.
///
/// # Errors
/// [`AudioError::Damaged`] without common or sound chunk, [`AudioError::Unsupported`]
/// for compressed forms, and what the shape of the sound gives.
pub(crate) fn read_layout(path: &Path, bytes: &mut Bytes) -> Result<Layout, AudioError> {
    let file_bytes = bytes.len().map_err(|e| AudioError::read(path, e))?;
    let form = read(path, bytes, 0, 12)?;
    let is_aifc = match form.get(8..12) {
        Some(b"AIFF") => false,
        Some(b"AIFC") => true,
        _ => {
            return Err(AudioError::Unknown {
                path: path.to_path_buf(),
            });
        }
    };
    let (common, sound) = walk(path, bytes, is_aifc)?;
    let missing = |what: &str| AudioError::damaged(path, format!("it has no {what} chunk"));
    let common = common.ok_or_else(|| missing("`COMM`"))?;
    let sound = sound.ok_or_else(|| missing("`SSND`"))?;
    layout(path, common, sound, file_bytes)
}

fn walk(
    path: &Path,
    bytes: &mut Bytes,
    is_aifc: bool,
) -> Result<(Option<Common>, Option<Sound>), AudioError> {
    let (mut common, mut sound) = (None, None);
    let mut position = 12u64;
    for _ in 0..MOST_CHUNKS {
        let head = read(path, bytes, position, 16)?;
        let (Some(id), Some(size)) = (head.get(..4), be32(&head, 4)) else {
            break;
        };
        let body = position + 8;
        match id {
            b"COMM" if common.is_none() => {
                let chunk = read(path, bytes, body, u64::from(size).min(22))?;
                common = Some(parse_common(path, &chunk, is_aifc)?);
            }
            b"SSND" if sound.is_none() => {
                let skip = SOUND_HEAD_BYTES + u64::from(be32(&head, 8).unwrap_or(0));
                sound = Some(Sound {
                    offset: body + skip,
                    bytes: u64::from(size).saturating_sub(skip),
                });
            }
            _ => {}
        }
        position = body + u64::from(size) + u64::from(size % 2);
    }
    Ok((common, sound))
}

fn parse_common(path: &Path, chunk: &[u8], is_aifc: bool) -> Result<Common, AudioError> {
    let short = || AudioError::damaged(path, "its `COMM` chunk is too short");
    let channels = be16(chunk, 0).ok_or_else(short)?;
    let frames = be32(chunk, 2).ok_or_else(short)?;
    let bits = u32::from(be16(chunk, 6).ok_or_else(short)?);
    let sample_rate_hz = rate_hz(chunk.get(8..18).ok_or_else(short)?);
    check_shape(path, sample_rate_hz, usize::from(channels))?;
    let compression = if is_aifc {
        chunk.get(18..22).ok_or_else(short)?
    } else {
        b"NONE"
    };
    let encoding = encoding(path, compression, bits)?;
    Ok(Common {
        format: Format {
            encoding,
            bits: plausible_bits(encoding, bits),
            channels: usize::from(channels),
            sample_rate_hz,
            consistent: true,
        },
        frames: u64::from(frames),
    })
}

fn encoding(path: &Path, compression: &[u8], bits: u32) -> Result<Encoding, AudioError> {
    match (compression, bits.div_ceil(8)) {
        (b"raw ", _) => Ok(Encoding::U8),
        (b"fl32" | b"FL32", _) => Ok(Encoding::F32Big),
        (b"fl64" | b"FL64", _) => Ok(Encoding::F64Big),
        (b"NONE" | b"none" | b"twos" | b"sowt", 1) => Ok(Encoding::I8),
        (b"NONE" | b"none" | b"twos", 2) => Ok(Encoding::I16Big),
        (b"NONE" | b"none" | b"twos" | b"in24", 3) => Ok(Encoding::I24Big),
        (b"NONE" | b"none" | b"twos" | b"in32", 4) => Ok(Encoding::I32Big),
        (b"sowt", 2) => Ok(Encoding::I16),
        (b"sowt", 3) => Ok(Encoding::I24),
        (b"sowt", 4) => Ok(Encoding::I32),
        (b"NONE" | b"none" | b"twos" | b"sowt" | b"in24" | b"in32", _) => Err(
            AudioError::unsupported(path, format!("AIFF with {bits}-bit samples")),
        ),
        (other, _) => Err(AudioError::unsupported(
            path,
            format!("AIFF-C with coding `{}`", other.escape_ascii()),
        )),
    }
}

/// An 80-bit IEEE float, as a whole number of hertz; 0 where it is none.
fn rate_hz(float: &[u8]) -> u32 {
    const BIAS: u32 = 16_383;
    let exponent = u32::from(float[0] & 0x7F) << 8 | u32::from(float[1]);
    let mantissa = float[2..10]
        .iter()
        .fold(0u64, |m, b| m << 8 | u64::from(*b));
    match exponent.checked_sub(BIAS) {
        Some(power @ 0..=31) if float[0] < 0x80 => (mantissa >> (63 - power)) as u32,
        _ => 0,
    }
}

fn layout(
    path: &Path,
    common: Common,
    sound: Sound,
    file_bytes: u64,
) -> Result<Layout, AudioError> {
    let frame_bytes = common.format.frame_bytes() as u64;
    let held = file_bytes.saturating_sub(sound.offset) / frame_bytes;
    let (frames, notes) = frames(path, &common, sound.bytes / frame_bytes, held);
    if frames == 0 {
        return Err(AudioError::Empty {
            path: path.to_path_buf(),
        });
    }
    Ok(Layout {
        container: "AIFF",
        format: common.format,
        data_offset: sound.offset,
        frames,
        time_reference: None,
        notes,
    })
}

/// Frames to read: `COMM` and `SSND` both promise a number, the file holds another.
fn frames(path: &Path, common: &Common, sized: u64, held: u64) -> (u64, Vec<HealthNote>) {
    let rate_hz = f64::from(common.format.sample_rate_hz);
    if common.frames == 0 && sized == 0 && held > 0 {
        let what = "the header gives no length, as after a crash; everything up to the end of the file was read";
        return (held, vec![lying(path, what)]);
    }
    let promised = common.frames.max(sized);
    let mut notes = Vec::new();
    if common.frames != sized {
        let what = format!(
            "the header promises {} frames in one place and {sized} in another",
            common.frames
        );
        notes.push(lying(path, &what));
    }
    if promised > held {
        let note = truncated(path, promised as f64 / rate_hz, held as f64 / rate_hz);
        notes.push(note);
    }
    (promised.min(held), notes)
}

/// Up to `size` bytes, fewer where the file ends; the caller bounds the size.
fn read(path: &Path, bytes: &mut Bytes, position: u64, size: u64) -> Result<Vec<u8>, AudioError> {
    let mut buffer = vec![0; size as usize];
    let count = bytes
        .read_at(position, &mut buffer)
        .map_err(|e| AudioError::read(path, e))?;
    buffer.truncate(count);
    Ok(buffer)
}

fn be16(bytes: &[u8], at: usize) -> Option<u16> {
    let word = bytes.get(at..at + 2)?;
    Some(u16::from_be_bytes(word.try_into().ok()?))
}

fn be32(bytes: &[u8], at: usize) -> Option<u32> {
    let word = bytes.get(at..at + 4)?;
    Some(u32::from_be_bytes(word.try_into().ok()?))
}
