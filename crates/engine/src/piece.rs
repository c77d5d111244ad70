//! Pieces: the sound of all tracks over [`PIECE_FRAMES`], as the
//! server sends it.
//!
//! Little-endian. First the number of tracks, `u32`; then of each track its form and
//! the byte its samples begin at, `u32` each; then the samples, on multiples of four
//! bytes. Forms: 0 silence, nothing is sent; 1 and 2 integers of 16 bits, 3 and 4 of 24
//! bits, 5 and 6 32-bit floats. Of odd forms both sides are the same and one is sent; of
//! even ones the left side comes first, then the right. The shortest form that holds the
//! samples exactly is taken; what not even floats hold is rounded to them.

use crate::PIECE_FRAMES;

/// Full scale of 16-bit samples.
const SHORT_SCALE: f64 = 32_768.0;

/// Full scale of 24-bit samples.
const LONG_SCALE: f64 = 8_388_608.0;

/// Most bytes of a piece of so many tracks.
pub const fn largest_bytes(tracks: usize) -> usize {
    4 + tracks * (8 + 8 * PIECE_FRAMES)
}

/// How samples are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Short,
    Long,
    Float,
}

impl Kind {
    const ALL: [Self; 3] = [Self::Short, Self::Long, Self::Float];

    fn width(self) -> usize {
        match self {
            Self::Short => 2,
            Self::Long => 3,
            Self::Float => 4,
        }
    }

    /// Whether it holds a sample exactly; floats are taken for all that is left.
    fn holds(self, x: f64) -> bool {
        let (scale, low, high) = match self {
            Self::Short => (SHORT_SCALE, -32_768.0, 32_767.0),
            Self::Long => (LONG_SCALE, -8_388_608.0, 8_388_607.0),
            Self::Float => return true,
        };
        let scaled = x * scale;
        scaled == f64::from(scaled as i32) && (low..=high).contains(&scaled)
    }

    fn write(self, side: &[f64], bytes: &mut Vec<u8>) {
        match self {
            Self::Short => {
                let shorts = side.iter().map(|&x| (x * SHORT_SCALE) as i16);
                bytes.extend(shorts.flat_map(i16::to_le_bytes));
            }
            Self::Long => {
                let longs = side.iter().map(|&x| (x * LONG_SCALE) as i32);
                bytes.extend(longs.flat_map(|x| {
                    let [a, b, c, _] = x.to_le_bytes();
                    [a, b, c]
                }));
            }
            Self::Float => bytes.extend(side.iter().flat_map(|&x| (x as f32).to_le_bytes())),
        }
    }

    fn read(self, bytes: &[u8], out: &mut [f64]) {
        match self {
            Self::Short => {
                for (x, short) in out.iter_mut().zip(bytes.as_chunks::<2>().0) {
                    *x = f64::from(i16::from_le_bytes(*short)) / SHORT_SCALE;
                }
            }
            Self::Long => {
                for (x, &[a, b, c]) in out.iter_mut().zip(bytes.as_chunks::<3>().0) {
                    // The sign is that of the highest byte.
                    *x = f64::from(i32::from_le_bytes([0, a, b, c]) >> 8) / LONG_SCALE;
                }
            }
            Self::Float => {
                for (x, float) in out.iter_mut().zip(bytes.as_chunks::<4>().0) {
                    *x = f64::from(f32::from_le_bytes(*float));
                }
            }
        }
    }
}

/// What is sent of a track: nothing, or one or two sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Form {
    kind: Kind,
    sides: usize,
}

impl Form {
    const SILENCE: Self = Self {
        kind: Kind::Short,
        sides: 0,
    };

    fn of(left: &[f64], right: &[f64]) -> Self {
        let all = || left.iter().chain(right);
        if all().all(|&x| x == 0.0) {
            return Self::SILENCE;
        }
        let holding = |kind: &Kind| all().all(|&x| kind.holds(x));
        Self {
            kind: Kind::ALL.into_iter().find(holding).unwrap_or(Kind::Float),
            sides: if left == right { 1 } else { 2 },
        }
    }

    fn from_code(code: u32) -> Option<Self> {
        let Some(number) = code.checked_sub(1) else {
            return Some(Self::SILENCE);
        };
        let kind = *Kind::ALL.get(number as usize / 2)?;
        let sides = 1 + number as usize % 2;
        Some(Self { kind, sides })
    }

    fn code(self) -> u32 {
        match self.sides {
            0 => 0,
            sides => 2 * self.kind as u32 + sides as u32,
        }
    }

    fn bytes(self) -> usize {
        self.kind.width() * self.sides * PIECE_FRAMES
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
        for side in [left, right].iter().take(form.sides) {
            form.kind.write(side, &mut bytes);
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
    let (Form { kind, sides }, at) = place(bytes, track).unwrap_or((Form::SILENCE, 0));
    let side = |number: usize, frames: usize| {
        let start = at + kind.width() * (number * PIECE_FRAMES + from);
        let end = start + kind.width() * frames;
        bytes.get(start..end).unwrap_or(&[])
    };
    match sides {
        0 => {
            left.fill(0.0);
            right.fill(0.0);
        }
        1 => {
            kind.read(side(0, left.len()), left);
            right.copy_from_slice(left);
        }
        _ => {
            kind.read(side(0, left.len()), left);
            kind.read(side(1, right.len()), right);
        }
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
        let silence = vec![0.0; PIECE_FRAMES];
        let (short, long) = (ramp(1.0 / SHORT_SCALE), ramp(1.0 / LONG_SCALE));
        let float = ramp(0.5f64.powi(30));
        let tracks: Vec<(&[f64], &[f64])> = vec![
            (&silence, &silence),
            (&short, &short),
            (&short, &silence),
            (&long, &long),
            (&short, &long),
            (&float, &float),
            (&long, &float),
        ];
        let bytes = encode(&tracks);
        let whole = 4 + 7 * 8 + PIECE_FRAMES * (2 + 4 + 3 + 6 + 4 + 8);
        assert_eq!(bytes.len(), whole);
        assert!(is_piece(&bytes, 7) && !is_piece(&bytes, 6) && !is_piece(&bytes[..whole - 1], 7));
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
    fn the_ends_of_the_scales() {
        let mut full = vec![0.0; PIECE_FRAMES];
        for (highest, kind) in [
            (32_767.0 / SHORT_SCALE, Kind::Short),
            (8_388_607.0 / LONG_SCALE, Kind::Long),
            (1.0, Kind::Float),
        ] {
            (full[0], full[1]) = (-1.0, highest);
            assert_eq!(Form::of(&full, &full), Form { kind, sides: 1 });
        }
        assert!(Kind::Float.holds(f64::MAX) && !Kind::Long.holds(1e300));
        assert!(!is_piece(&[], 1) && !is_piece(&[1, 0, 0, 0, 9], 1));
        assert_eq!(
            (Form::from_code(6).map(Form::code), Form::from_code(7)),
            (Some(6), None)
        );
    }
}
