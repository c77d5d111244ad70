//! Bytes to planar samples, one loop a coding.
//!
//! Integers are divided by 2^(bits - 1), so that the range is -1 to just under 1;
//! 8-bit samples are unsigned with 128 as zero.

use super::format::Encoding;

/// Decodes whole frames of interleaved `bytes` into one or two channels, as long as
/// there are frames or longer.
pub(crate) fn decode(encoding: Encoding, bytes: &[u8], channels: &mut [&mut [f64]]) {
    match encoding {
        Encoding::U8 => spread(bytes, channels, |b: [u8; 1]| {
            (f64::from(b[0]) - 128.0) * (1.0 / 128.0)
        }),
        Encoding::I8 => spread(bytes, channels, |b: [u8; 1]| {
            f64::from(b[0].cast_signed()) * (1.0 / 128.0)
        }),
        Encoding::I16 => spread(bytes, channels, |b| scale_16(i16::from_le_bytes(b))),
        Encoding::I24 => match channels {
            [left, right] => spread_24(bytes, left, right),
            _ => spread(bytes, channels, scale_24),
        },
        Encoding::I32 => spread(bytes, channels, |b| scale_32(i32::from_le_bytes(b))),
        Encoding::F32 => spread(bytes, channels, |b| f64::from(f32::from_le_bytes(b))),
        Encoding::F64 => spread(bytes, channels, f64::from_le_bytes),
        Encoding::I16Big => spread(bytes, channels, |b| scale_16(i16::from_be_bytes(b))),
        Encoding::I24Big => spread(bytes, channels, |b: [u8; 3]| {
            scale_32(i32::from_be_bytes([b[0], b[1], b[2], 0]))
        }),
        Encoding::I32Big => spread(bytes, channels, |b| scale_32(i32::from_be_bytes(b))),
        Encoding::F32Big => spread(bytes, channels, |b| f64::from(f32::from_be_bytes(b))),
        Encoding::F64Big => spread(bytes, channels, f64::from_be_bytes),
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

#[inline(always)]
fn scale_24(b: [u8; 3]) -> f64 {
    scale_32(i32::from_le_bytes([0, b[0], b[1], b[2]]))
}

/// Stereo of 24 bits, the usual export: four frames at a time, each taken as one word
/// of 64 bits, with two samples in its lower 48.
fn spread_24(bytes: &[u8], left: &mut [f64], right: &mut [f64]) {
    let frames = (bytes.len() / 6).min(left.len()).min(right.len());
    let (fours, rest) = bytes[..6 * frames].as_chunks::<24>();
    let (left_fours, left_rest) = left[..frames].as_chunks_mut::<4>();
    let (right_fours, right_rest) = right[..frames].as_chunks_mut::<4>();
    for ((four, l), r) in fours.iter().zip(left_fours).zip(right_fours) {
        let word = |at: usize| {
            let mut word = [0; 8];
            word.copy_from_slice(&four[at..at + 8]);
            u64::from_le_bytes(word)
        };
        let words = [word(0), word(6), word(12), word(16) >> 16];
        for ((l, r), word) in l.iter_mut().zip(r).zip(words) {
            *l = scale_32(((word << 8) as u32).cast_signed());
            *r = scale_32(((word >> 16) as u32 & 0xffff_ff00).cast_signed());
        }
    }
    spread(rest, &mut [left_rest, right_rest], scale_24);
}

/// Takes interleaved words of `N` bytes apart; mono and stereo have loops of
/// their own, which the compiler can unroll.
#[inline(always)]
fn spread<const N: usize>(
    bytes: &[u8],
    channels: &mut [&mut [f64]],
    sample: impl Fn([u8; N]) -> f64,
) {
    let (words, _) = bytes.as_chunks::<N>();
    match channels {
        [only] => {
            for (out, word) in only.iter_mut().zip(words) {
                *out = sample(*word);
            }
        }
        [left, right] => {
            let (frames, _) = words.as_chunks::<2>();
            let sides = left.iter_mut().zip(right.iter_mut());
            for ((l, r), frame) in sides.zip(frames) {
                *l = sample(frame[0]);
                *r = sample(frame[1]);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_frames_at_a_time_are_the_frames_one_by_one() {
        // Park and Miller's generator, "minimal standard".
        let mut state = 1u64;
        let mut next = || {
            state = state * 48_271 % 2_147_483_647;
            (state >> 8) as u8
        };
        for frames in [0, 1, 3, 4, 5, 8, 31] {
            let bytes: Vec<u8> = (0..6 * frames).map(|_| next()).collect();
            let (mut left, mut right) = (vec![9.0; frames], vec![9.0; frames]);
            decode(Encoding::I24, &bytes, &mut [&mut left, &mut right]);
            let sample = |at: usize| {
                let [a, b, c] = [bytes[at], bytes[at + 1], bytes[at + 2]].map(i64::from);
                let word = a + 256 * b + 65_536 * c;
                let word = if word < 1 << 23 {
                    word
                } else {
                    word - (1 << 24)
                };
                word as f64 / 8_388_608.0
            };
            for frame in 0..frames {
                assert_eq!(left[frame], sample(6 * frame));
                assert_eq!(right[frame], sample(6 * frame + 3));
            }
        }
    }
}
