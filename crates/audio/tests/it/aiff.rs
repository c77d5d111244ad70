//! AIFF and AIFF-C files made byte by byte.
//!
//! Layout: Apple, "Audio Interchange File Format: AIFF", version 1.3, 1989, and the
//! AIFF-C draft of 1991 (field order from memory). 48 kHz as an 80-bit float is
//! 40 0E BB 80 and six zero bytes.

use cupel_audio::{HealthCode, Reader};

use crate::support::{read_all, read_bytes};

const RATE_48K: [u8; 10] = [0x40, 0x0E, 0xBB, 0x80, 0, 0, 0, 0, 0, 0];

fn chunk(id: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut bytes = id.to_vec();
    bytes.extend((body.len() as u32).to_be_bytes());
    bytes.extend(body);
    bytes.resize(bytes.len() + body.len() % 2, 0);
    bytes
}

fn common(channels: u16, frames: u32, bits: u16) -> Vec<u8> {
    let mut body = channels.to_be_bytes().to_vec();
    body.extend(frames.to_be_bytes());
    body.extend(bits.to_be_bytes());
    body.extend(RATE_48K);
    body
}

fn file(form: &[u8; 4], common: &[u8], sound: &[u8]) -> Vec<u8> {
    let mut ssnd = vec![0; 8];
    ssnd.extend(sound);
    let mut body = form.to_vec();
    if form == b"AIFC" {
        body.extend(chunk(b"FVER", &0xA280_5140u32.to_be_bytes()));
    }
    body.extend(chunk(b"COMM", common));
    body.extend(chunk(b"SSND", &ssnd));
    chunk(b"FORM", &body)
}

fn aifc(frames: u32, bits: u16, compression: &[u8; 4], sound: &[u8]) -> Vec<u8> {
    let mut body = common(1, frames, bits);
    body.extend(compression);
    body.extend([0, 0]);
    file(b"AIFC", &body, sound)
}

#[test]
fn integers_are_big_endian_and_signed() {
    let sound = [0x40, 0, 0, 0xC0, 0, 0, 0x7F, 0xFF, 0xFF, 0x80, 0, 0];
    let bytes = file(b"AIFF", &common(2, 2, 24), &sound);
    let mut reader = Reader::from_bytes("pad.aif", bytes).unwrap();
    assert_eq!(reader.info().container, "AIFF");
    assert_eq!(reader.info().encoding, "24-bit integer");
    assert_eq!(reader.info().sample_rate_hz, 48_000);
    assert_eq!(reader.info().frames, Some(2));
    let top = 8_388_607.0 / 8_388_608.0;
    assert_eq!(read_all(&mut reader).channels, [[0.5, top], [-0.5, -1.0]]);
    assert_eq!(reader.notes(), []);
}

#[test]
fn little_endian_and_float_forms() {
    let sowt = aifc(2, 16, b"sowt", &[0, 0x40, 0, 0xC0]);
    assert_eq!(read_bytes(sowt).channels, [[0.5, -0.5]]);
    let over: Vec<u8> = [1.5f32, -0.25]
        .iter()
        .flat_map(|s| s.to_be_bytes())
        .collect();
    assert_eq!(
        read_bytes(aifc(2, 32, b"fl32", &over)).channels,
        [[1.5, -0.25]]
    );
}

#[test]
fn a_truncated_file_is_read_as_far_as_it_goes() {
    let mut bytes = file(b"AIFF", &common(1, 48_000, 16), &vec![1; 96_000]);
    bytes.truncate(bytes.len() - 48_000);
    let mut reader = Reader::from_bytes("pad.aif", bytes).unwrap();
    let frames = read_all(&mut reader).frames();
    assert!((23_000..=24_000).contains(&frames), "{frames}");
    assert_eq!(reader.notes()[0].code, HealthCode::Truncated);
}
