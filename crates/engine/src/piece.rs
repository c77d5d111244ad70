//! Pieces: the sound of all tracks over [`PIECE_FRAMES`](crate::PIECE_FRAMES), as the
//! server sends it.
//!
//! Little-endian. First the number of tracks, `u32`; then of each track its form and
//! the byte its samples begin at, `u32` each; then the samples, on multiples of four
//! bytes. Forms: 0 silence, nothing is sent; 1 and 2 16-bit integers of full scale
//! 32768; 3 and 4 32-bit floats. Of 1 and 3 both sides are the same and one is sent;
//! of 2 and 4 the left side comes first, then the right. The shortest form that holds
//! the samples exactly is taken; what not even floats hold is rounded to them.

use crate::PIECE_FRAMES;

/// Full scale of 16-bit samples.
const SCALE: f64 = 32_768.0;

/// Most bytes of a piece of so many tracks.
pub const fn largest_bytes(tracks: usize) -> usize {
    4 + tracks * (8 + 8 * PIECE_FRAMES)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Silence,
    Short { sides: usize },
    Float { sides: usize },
}

impl Form {
    fn of(left: &[f64], right: &[f64]) -> Self {
        let all = || left.iter().chain(right);
        if all().all(|&x| x == 0.0) {
            return Self::Silence;
        }
        let sides = if left == right { 1 } else { 2 };
        let short = |x: f64| x == f64::from((x * SCALE) as i16) / SCALE;
        if all().all(|&x| short(x)) {
            Self::Short { sides }
        } else {
            Self::Float { sides }
        }
    }

    fn from_code(code: u32) -> Option<Self> {
        Some(match code {
            0 => Self::Silence,
            1 | 2 => Self::Short {
                sides: code as usize,
            },
            3 | 4 => Self::Float {
                sides: code as usize - 2,
            },
            _ => return None,
        })
    }

    fn code(self) -> u32 {
        match self {
            Self::Silence => 0,
            Self::Short { sides } => sides as u32,
            Self::Float { sides } => sides as u32 + 2,
        }
    }

    fn bytes(self) -> usize {
        match self {
            Self::Silence => 0,
            Self::Short { sides } => 2 * sides * PIECE_FRAMES,
            Self::Float { sides } => 4 * sides * PIECE_FRAMES,
        }
    }
}

/// One piece from left and right of every track, each of [`PIECE_FRAMES`] samples.
pub fn encode(tracks: &[(&[f64], &[f64])]) -> Vec<u8> {
    let forms: Vec<Form> = tracks.iter().map(|(l, r)| Form::of(l, r)).collect();
    let mut bytes = (tracks.len() as u32).to_le_bytes().to_vec();
    let mut at = 4 + 8 * tracks.len();
    for form in &forms {
        bytes.extend(form.code().to_le_bytes());
        bytes.extend((at as u32).to_le_bytes());
        at += form.bytes();
    }
    bytes.reserve(at - bytes.len());
    for (&(left, right), form) in tracks.iter().zip(&forms) {
        match *form {
            Form::Silence => {}
            Form::Short { sides } => {
                for side in [left, right].iter().take(sides) {
                    let shorts = side.iter().map(|&x| (x * SCALE) as i16);
                    bytes.extend(shorts.flat_map(i16::to_le_bytes));
                }
            }
            Form::Float { sides } => {
                for side in [left, right].iter().take(sides) {
                    bytes.extend(side.iter().flat_map(|&x| (x as f32).to_le_bytes()));
                }
            }
        }
    }
    bytes
}

/// Whether bytes are a piece of so many tracks.
pub(crate) fn is_piece(bytes: &[u8], tracks: usize) -> bool {
    word(bytes, 0) == Some(tracks as u32)
        && (0..tracks).all(|track| {
            place(bytes, track).is_some_and(|(form, at)| at + form.bytes() <= bytes.len())
        })
}

/// Reads one track of a checked piece, from a frame of the piece on, into both slices,
/// which have the same length and end within the piece.
pub(crate) fn read(bytes: &[u8], track: usize, from: usize, left: &mut [f64], right: &mut [f64]) {
    let (form, at) = place(bytes, track).unwrap_or((Form::Silence, 0));
    let (width, sides) = match form {
        Form::Silence => {
            left.fill(0.0);
            right.fill(0.0);
            return;
        }
        Form::Short { sides } => (2, sides),
        Form::Float { sides } => (4, sides),
    };
    let frames = left.len();
    let side = |number: usize| {
        let start = at + width * (number * PIECE_FRAMES + from);
        bytes.get(start..start + width * frames).unwrap_or(&[])
    };
    let convert = |out: &mut [f64], bytes: &[u8]| match width {
        2 => {
            let (shorts, _) = bytes.as_chunks::<2>();
            for (x, short) in out.iter_mut().zip(shorts) {
                *x = f64::from(i16::from_le_bytes(*short)) / SCALE;
            }
        }
        _ => {
            let (floats, _) = bytes.as_chunks::<4>();
            for (x, float) in out.iter_mut().zip(floats) {
                *x = f64::from(f32::from_le_bytes(*float));
            }
        }
    };
    convert(left, side(0));
    if sides == 1 {
        right.copy_from_slice(left);
    } else {
        convert(right, side(1));
    }
}

fn place(bytes: &[u8], track: usize) -> Option<(Form, usize)> {
    let form = Form::from_code(word(bytes, 4 + 8 * track)?)?;
    Some((form, word(bytes, 8 + 8 * track)? as usize))
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let part = bytes.get(at..)?.first_chunk::<4>()?;
    Some(u32::from_le_bytes(*part))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn ramp(step: f64) -> Vec<f64> {
        (0..PIECE_FRAMES)
            .map(|n| (n as f64 - 4_000.0) * step)
            .collect()
    }

    #[test]
    fn every_form_comes_back_exactly() {
        let (silence, short, long) = (
            vec![0.0; PIECE_FRAMES],
            ramp(1.0 / SCALE),
            ramp(0.5f64.powi(23)),
        );
        let tracks: Vec<(&[f64], &[f64])> = vec![
            (&silence, &silence),
            (&short, &short),
            (&short, &silence),
            (&long, &long),
            (&short, &long),
        ];
        let bytes = encode(&tracks);
        let whole = 4 + 5 * 8 + PIECE_FRAMES * (2 + 4 + 4 + 8);
        assert_eq!(bytes.len(), whole);
        assert!(is_piece(&bytes, 5) && !is_piece(&bytes, 4) && !is_piece(&bytes[..whole - 1], 5));
        let (mut left, mut right) = (vec![9.0; 100], vec![9.0; 100]);
        for (number, (l, r)) in tracks.iter().enumerate() {
            read(&bytes, number, 3_950, &mut left, &mut right);
            assert_eq!(
                (&left[..], &right[..]),
                (&l[3_950..4_050], &r[3_950..4_050])
            );
        }
    }

    #[test]
    fn the_ends_of_the_scale() {
        let mut full = vec![0.0; PIECE_FRAMES];
        (full[0], full[1]) = (-1.0, 32_767.0 / SCALE);
        assert_eq!(Form::of(&full, &full), Form::Short { sides: 1 });
        full[1] = 1.0;
        assert_eq!(Form::of(&full, &full), Form::Float { sides: 1 });
        assert!(!is_piece(&[], 1) && !is_piece(&[1, 0, 0, 0, 9], 1));
    }
}
