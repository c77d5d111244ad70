//! Bytes to planar samples, one loop a coding.
//!
//! Integers are divided by 2^(bits - 1), so that the range is -1 to just under 1;
//! 8-bit samples are unsigned with 128 as zero.

use super::format::Encoding;

/// Decodes whole frames of interleaved `bytes` into the end of one or two channels,
/// from frame `from` on.
pub(crate) fn decode(encoding: Encoding, bytes: &[u8], channels: &mut [Vec<f64>], from: usize) {
    match encoding {
        Encoding::U8 => spread(bytes, channels, from, |b: [u8; 1]| {
            (f64::from(b[0]) - 128.0) * (1.0 / 128.0)
        }),
        Encoding::I8 => spread(bytes, channels, from, |b: [u8; 1]| {
            f64::from(b[0].cast_signed()) * (1.0 / 128.0)
        }),
        Encoding::I16 => spread(bytes, channels, from, |b| scale_16(i16::from_le_bytes(b))),
        Encoding::I24 => spread(bytes, channels, from, |b: [u8; 3]| {
            scale_32(i32::from_le_bytes([0, b[0], b[1], b[2]]))
        }),
        Encoding::I32 => spread(bytes, channels, from, |b| scale_32(i32::from_le_bytes(b))),
        Encoding::F32 => spread(bytes, channels, from, |b| f64::from(f32::from_le_bytes(b))),
        Encoding::F64 => spread(bytes, channels, from, f64::from_le_bytes),
        Encoding::I16Big => spread(bytes, channels, from, |b| scale_16(i16::from_be_bytes(b))),
        Encoding::I24Big => spread(bytes, channels, from, |b: [u8; 3]| {
            scale_32(i32::from_be_bytes([b[0], b[1], b[2], 0]))
        }),
        Encoding::I32Big => spread(bytes, channels, from, |b| scale_32(i32::from_be_bytes(b))),
        Encoding::F32Big => spread(bytes, channels, from, |b| f64::from(f32::from_be_bytes(b))),
        Encoding::F64Big => spread(bytes, channels, from, f64::from_be_bytes),
    }
}

#[inline(always)]
fn scale_16(word: i16) -> f64 {
    f64::from(word) * (1.0 / 32_768.0)
}

#[inline(always)]
fn scale_32(word: i32) -> f64 {
    f64::from(word) * (1.0 / 2_147_483_648.0)
}

/// Takes interleaved words of `N` bytes apart; mono and stereo have loops of
/// their own, which the compiler can unroll.
#[inline(always)]
fn spread<const N: usize>(
    bytes: &[u8],
    channels: &mut [Vec<f64>],
    from: usize,
    sample: impl Fn([u8; N]) -> f64,
) {
    let (words, _) = bytes.as_chunks::<N>();
    match channels {
        [only] => {
            for (out, word) in only[from..].iter_mut().zip(words) {
                *out = sample(*word);
            }
        }
        [left, right] => {
            let (frames, _) = words.as_chunks::<2>();
            let sides = left[from..].iter_mut().zip(&mut right[from..]);
            for ((l, r), frame) in sides.zip(frames) {
                *l = sample(frame[0]);
                *r = sample(frame[1]);
            }
        }
        _ => {}
    }
}
