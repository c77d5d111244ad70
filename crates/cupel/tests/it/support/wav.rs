//! WAV files written for the stories, and read back byte by byte.

use std::fs;
use std::path::Path;

use cupel_audio::{SampleFormat, WavWriter};

use super::{RATE_HZ, Sound};

/// Writes 32-bit float at the common rate.
pub fn write(path: &Path, sound: &Sound) {
    write_at(path, sound, RATE_HZ);
}

/// Writes 32-bit float.
pub fn write_at(path: &Path, sound: &Sound, rate_hz: u32) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    let mut writer = WavWriter::create(path, rate_hz, sound.len(), SampleFormat::F32).unwrap();
    writer.write(sound).unwrap();
    writer.finish().unwrap();
}

/// A mono 16-bit file at the common rate, with further chunks before the data.
pub fn riff_16(chunks: &[(&[u8; 4], &[u8])], samples: &[i16]) -> Vec<u8> {
    let mut format = Vec::new();
    format.extend(1u16.to_le_bytes());
    format.extend(1u16.to_le_bytes());
    format.extend(RATE_HZ.to_le_bytes());
    format.extend((RATE_HZ * 2).to_le_bytes());
    format.extend(2u16.to_le_bytes());
    format.extend(16u16.to_le_bytes());
    let data: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
    let mut body = b"WAVE".to_vec();
    let all = [(b"fmt ", format.as_slice())];
    for (id, bytes) in all
        .iter()
        .chain(chunks)
        .chain(&[(b"data", data.as_slice())])
    {
        body.extend(*id);
        body.extend((bytes.len() as u32).to_le_bytes());
        body.extend(*bytes);
        body.resize(body.len() + bytes.len() % 2, 0);
    }
    let mut file = b"RIFF".to_vec();
    file.extend((body.len() as u32).to_le_bytes());
    file.extend(body);
    file
}

/// Channels of a WAV file in 32-bit float or 24-bit integer, full scale 1, and
/// its rate.
pub fn read(path: &Path) -> (Sound, u32) {
    let (bits, channels, rate_hz, data) = take_apart(path);
    let width = bits / 8;
    let mut sound = vec![Vec::new(); channels];
    for (index, sample) in data.chunks_exact(width).enumerate() {
        let value = match sample {
            [a, b, c, d] => f64::from(f32::from_le_bytes([*a, *b, *c, *d])),
            [a, b, c] => f64::from(signed_24([*a, *b, *c])) / f64::from(1 << 23),
            _ => panic!("{bits} bits in {}", path.display()),
        };
        sound[index % channels].push(value);
    }
    (sound, rate_hz)
}

/// The integers of a 24-bit file, channel by channel.
pub fn samples_24(path: &Path) -> Vec<Vec<i32>> {
    let (bits, channels, _, data) = take_apart(path);
    assert_eq!(bits, 24, "{}", path.display());
    let mut sound = vec![Vec::new(); channels];
    for (index, sample) in data.chunks_exact(3).enumerate() {
        sound[index % channels].push(signed_24([sample[0], sample[1], sample[2]]));
    }
    sound
}

fn signed_24([a, b, c]: [u8; 3]) -> i32 {
    i32::from_le_bytes([0, a, b, c]) >> 8
}

/// Bits, channels, rate, bytes of the data chunk.
fn take_apart(path: &Path) -> (usize, usize, u32, Vec<u8>) {
    let bytes = fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    assert_eq!(&bytes[..4], b"RIFF");
    assert_eq!(&bytes[8..12], b"WAVE");
    let number = |at: usize, width: usize| {
        (0..width).fold(0u32, |n, i| n | u32::from(bytes[at + i]) << (8 * i))
    };
    let (mut at, mut form) = (12, None);
    while at + 8 <= bytes.len() {
        let length = number(at + 4, 4) as usize;
        match &bytes[at..at + 4] {
            b"fmt " => {
                form = Some((
                    number(at + 22, 2) as usize,
                    number(at + 10, 2) as usize,
                    number(at + 12, 4),
                ));
            }
            b"data" => {
                let (bits, channels, rate_hz) = form.unwrap();
                assert!(at + 8 + length <= bytes.len(), "the header lies");
                return (
                    bits,
                    channels,
                    rate_hz,
                    bytes[at + 8..at + 8 + length].to_vec(),
                );
            }
            _ => {}
        }
        at += 8 + length + length % 2;
    }
    panic!("no data in {}", path.display());
}
