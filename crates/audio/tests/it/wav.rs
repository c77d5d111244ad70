//! WAV, RF64 and BW64 files made byte by byte.
//!
//! Layouts: EBU Tech 3285 v2 (RIFF/WAVE, bext), EBU Tech 3306 (RF64),
//! ITU-R BS.2088 (BW64).

use std::fs::File;
use std::io::Write;

use cupel_audio::{AudioError, FileInfo, HealthCode, Planar, Reader};

use crate::support::{bytes_16, chunk, fmt, read_all, read_bytes, riff, wav_16};

fn info(bytes: Vec<u8>) -> FileInfo {
    Reader::from_bytes("test.wav", bytes)
        .unwrap()
        .info()
        .clone()
}

fn error(bytes: Vec<u8>) -> AudioError {
    Reader::from_bytes("test.wav", bytes).unwrap_err()
}

/// Codes of the notes after reading to the end.
fn notes(bytes: Vec<u8>) -> Vec<HealthCode> {
    let mut reader = Reader::from_bytes("test.wav", bytes).unwrap();
    read_all(&mut reader);
    reader.notes().iter().map(|note| note.code).collect()
}

/// One mono file of the given coding holds the given samples.
fn check_coding(tag: u16, bits: u16, data: &[u8], expected: &[f64]) {
    let bytes = riff(&[
        chunk(b"fmt ", &fmt(tag, 1, 44_100, bits)),
        chunk(b"data", data),
    ]);
    let info = info(bytes.clone());
    assert_eq!((info.bits, info.sample_rate_hz), (u32::from(bits), 44_100));
    assert_eq!(info.frames, Some(expected.len() as u64));
    assert_eq!(read_bytes(bytes).channels, [expected]);
}

#[test]
fn every_coding() {
    check_coding(1, 8, &[0, 128, 255, 192], &[-1.0, 0.0, 127.0 / 128.0, 0.5]);
    check_coding(
        1,
        16,
        &bytes_16(&[i16::MIN, 0, i16::MAX, 16_384]),
        &[-1.0, 0.0, 32_767.0 / 32_768.0, 0.5],
    );
    check_coding(
        1,
        24,
        &[0, 0, 0x80, 0, 0, 0, 0xFF, 0xFF, 0x7F, 1, 0, 0],
        &[-1.0, 0.0, 8_388_607.0 / 8_388_608.0, 1.0 / 8_388_608.0],
    );
    let words: Vec<u8> = [i32::MIN, 0, i32::MAX, 1]
        .iter()
        .flat_map(|s| s.to_le_bytes())
        .collect();
    let scale = 2_147_483_648.0;
    check_coding(
        1,
        32,
        &words,
        &[-1.0, 0.0, (scale - 1.0) / scale, 1.0 / scale],
    );
    let floats: Vec<u8> = [1.5f32, -0.25]
        .iter()
        .flat_map(|s| s.to_le_bytes())
        .collect();
    check_coding(3, 32, &floats, &[1.5, -0.25]);
    let doubles: Vec<u8> = [0.1f64, -2.0]
        .iter()
        .flat_map(|s| s.to_le_bytes())
        .collect();
    check_coding(3, 64, &doubles, &[0.1, -2.0]);
}

#[test]
fn stereo_is_taken_apart_left_first() {
    let bytes = riff(&[
        chunk(b"fmt ", &fmt(1, 2, 48_000, 16)),
        chunk(b"data", &bytes_16(&[16_384, -16_384, 8_192, -8_192])),
    ]);
    assert_eq!(read_bytes(bytes).channels, [[0.5, 0.25], [-0.5, -0.25]]);
}

/// Extensible: 20 valid bits in 24, left-justified; GUID with PCM as first word.
#[test]
fn extensible_with_fewer_valid_bits() {
    let mut body = fmt(0xFFFE, 1, 96_000, 24);
    body.extend([22, 0, 20, 0, 4, 0, 0, 0, 1, 0]);
    body.extend([0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71]);
    let bytes = riff(&[chunk(b"fmt ", &body), chunk(b"data", &[0, 0, 0x40])]);
    assert_eq!(info(bytes.clone()).bits, 20);
    assert_eq!(info(bytes.clone()).encoding, "20-bit integer");
    assert_eq!(read_bytes(bytes).channels, [[0.5]]);
}

/// TimeReference stands at byte 338 of bext, low word first (EBU Tech 3285 v2, 2.3).
#[test]
fn time_reference_and_unknown_chunks() {
    let mut bext = vec![0; 602];
    bext[338..346].copy_from_slice(&0x1_2345_6789u64.to_le_bytes());
    let bytes = riff(&[
        chunk(b"odd!", &[1, 2, 3]),
        chunk(b"fmt ", &fmt(1, 1, 48_000, 16)),
        chunk(b"data", &bytes_16(&[16_384])),
        chunk(b"bext", &bext),
    ]);
    assert_eq!(info(bytes.clone()).time_reference, Some(0x1_2345_6789));
    assert_eq!(notes(bytes), []);
}

#[test]
fn a_forgotten_pad_byte_hides_nothing() {
    let mut bext = vec![0; 602];
    bext[338] = 77;
    let mut odd = riff(&[
        chunk(b"fmt ", &fmt(1, 1, 48_000, 8)),
        b"data\x03\0\0\0abc".to_vec(),
    ]);
    odd.extend(chunk(b"bext", &bext));
    assert_eq!(info(odd.clone()).time_reference, Some(77));
    assert_eq!(info(odd).frames, Some(3));
}

fn ds64(data_bytes: u64) -> Vec<u8> {
    let mut body = vec![0; 8];
    body.extend(data_bytes.to_le_bytes());
    body.extend([0; 12]);
    chunk(b"ds64", &body)
}

#[test]
fn sizes_of_64_bits() {
    for form in [b"RF64", b"BW64"] {
        let mut data = chunk(b"data", &bytes_16(&[1, 2, 3]));
        data[4..8].copy_from_slice(&u32::MAX.to_le_bytes());
        data.extend(chunk(b"LIST", b"INFO"));
        let mut bytes = riff(&[ds64(6), chunk(b"fmt ", &fmt(1, 1, 48_000, 16)), data]);
        bytes[..4].copy_from_slice(form);
        let info = info(bytes.clone());
        assert_eq!(info.container.as_bytes(), form);
        assert_eq!(info.frames, Some(3));
        assert_eq!(notes(bytes), []);
    }
}

/// A sparse file of 5 GiB: nothing is allocated, and the end can be read.
#[test]
fn past_four_gibibytes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.wav");
    let data_bytes = 5u64 << 30;
    let mut data = chunk(b"data", &[]);
    data[4..8].copy_from_slice(&u32::MAX.to_le_bytes());
    let mut bytes = riff(&[
        ds64(data_bytes),
        chunk(b"fmt ", &fmt(1, 2, 48_000, 16)),
        data,
    ]);
    bytes[..4].copy_from_slice(b"RF64");
    let mut file = File::create(&path).unwrap();
    file.write_all(&bytes).unwrap();
    file.set_len(bytes.len() as u64 + data_bytes).unwrap();
    let mut reader = Reader::open(&path).unwrap();
    let frames = data_bytes / 4;
    assert_eq!(reader.info().frames, Some(frames));
    reader.seek(frames - 5).unwrap();
    let mut block = Planar::default();
    assert_eq!(reader.read(&mut block, 100).unwrap(), 5);
    assert_eq!(reader.read(&mut block, 100).unwrap(), 0);
}

/// A plain header whose size started again at zero past 4 GiB.
#[test]
fn a_size_that_wrapped() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wrapped.wav");
    let data_bytes = (1u64 << 32) + 8;
    let mut data = chunk(b"data", &[]);
    data[4..8].copy_from_slice(&8u32.to_le_bytes());
    let bytes = riff(&[chunk(b"fmt ", &fmt(1, 2, 48_000, 16)), data]);
    let mut file = File::create(&path).unwrap();
    file.write_all(&bytes).unwrap();
    file.set_len(bytes.len() as u64 + data_bytes).unwrap();
    let reader = Reader::open(&path).unwrap();
    assert_eq!(reader.info().frames, Some(data_bytes / 4));
    assert_eq!(reader.notes()[0].code, HealthCode::LyingHeader);
}

#[test]
fn lengths_that_a_crash_left() {
    for size in [0u32, u32::MAX] {
        let mut bytes = wav_16(&[1, 2, 3, 4]);
        bytes[40..44].copy_from_slice(&size.to_le_bytes());
        assert_eq!(info(bytes.clone()).frames, Some(4), "{size}");
        assert_eq!(notes(bytes), [HealthCode::LyingHeader], "{size}");
    }
}

#[test]
fn a_truncated_file_says_how_much_is_missing() {
    let mut bytes = wav_16(&vec![1; 48_000]);
    bytes.truncate(44 + 24_000);
    let mut reader = Reader::from_bytes("folder/kick.wav", bytes).unwrap();
    assert_eq!(reader.info().frames, Some(12_000));
    assert_eq!(read_all(&mut reader).frames(), 12_000);
    let note = &reader.notes()[0];
    assert_eq!(note.code, HealthCode::Truncated);
    assert_eq!(
        note.text,
        "the header promises 1.00 s, the file holds 0.25 s; export `kick.wav` again, or copy it once more"
    );
    assert_eq!((note.at_s, note.value), (Some(0.25), Some(0.75)));
}

#[test]
fn a_block_size_that_lies_is_worked_out_anew() {
    let mut bytes = wav_16(&[16_384, 0]);
    bytes[32..34].copy_from_slice(&77u16.to_le_bytes());
    assert_eq!(notes(bytes.clone()), [HealthCode::LyingHeader]);
    assert_eq!(read_bytes(bytes).channels, [[0.5, 0.0]]);
}

#[test]
fn refusals_say_what_and_how_to_mend() {
    let with_fmt = |body: Vec<u8>| riff(&[chunk(b"fmt ", &body), chunk(b"data", &[0; 12])]);
    let cases = [
        (
            with_fmt(fmt(1, 6, 48_000, 16)),
            "it has 6 channels, one or two are allowed",
            "export `test.wav` as a stereo or mono file, one file per pair",
        ),
        (
            with_fmt(fmt(1, 0, 48_000, 16)),
            "its header gives no channels",
            "export `test.wav` again as WAV, at the session's sample rate",
        ),
        (
            with_fmt(fmt(1, 1, 1, 16)),
            "its header gives a sample rate of 1 Hz, 4000 to 768000 Hz are allowed",
            "export `test.wav` again as WAV, at the session's sample rate",
        ),
        (
            with_fmt(fmt(2, 1, 48_000, 16)),
            "ADPCM in WAV is not supported",
            "export `test.wav` as WAV (24-bit or 32-bit float)",
        ),
        (
            wav_16(&[]),
            "it holds no sound",
            "export `test.wav` again with the whole session as range, or leave the file out",
        ),
        (
            riff(&[chunk(b"data", &[0; 4])]),
            "it has no `fmt ` chunk",
            "export `test.wav` again, or copy it once more",
        ),
        (
            riff(&[chunk(b"fmt ", &fmt(1, 1, 48_000, 16))]),
            "it has no `data` chunk",
            "export `test.wav` again, or copy it once more",
        ),
    ];
    for (bytes, message, hint) in cases {
        let error = error(bytes);
        assert_eq!(
            error.to_string(),
            format!("cannot read `test.wav`: {message}")
        );
        assert_eq!(error.hint().unwrap(), hint);
    }
}

#[test]
fn other_formats_are_named() {
    let cases: [(&[u8], &str); 4] = [
        (b"wvpk\0\0\0\0\0\0\0\0", "WavPack is not supported"),
        (
            b"riff\x2E\x91\xCF\x11\xA5\xD6\x28\xDB",
            "W64 is not supported",
        ),
        (
            b"RIFX\0\0\0\0WAVE",
            "big-endian WAV (RIFX) is not supported",
        ),
        (b"hello, world", "this is not a known audio format"),
    ];
    for (bytes, message) in cases {
        assert_eq!(
            error(bytes.to_vec()).to_string(),
            format!("cannot read `test.wav`: {message}")
        );
    }
    assert!(matches!(error(Vec::new()), AudioError::Empty { .. }));
}

#[test]
fn a_missing_file_is_named() {
    let error = Reader::open("nowhere/snare.wav".as_ref()).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("cannot read `nowhere/snare.wav`: ")
    );
    assert!(error.hint().unwrap().contains("moved or renamed"));
}

#[test]
fn seeking_gives_the_frames_of_an_unbroken_read() {
    let samples: Vec<i16> = (0..3_000).collect();
    let mut reader = Reader::from_bytes("test.wav", wav_16(&samples)).unwrap();
    let mut block = Planar::default();
    for frame in [2_990u64, 0, 1_234, 2_999] {
        reader.seek(frame).unwrap();
        let count = reader.read(&mut block, 7).unwrap();
        let expected = &samples[frame as usize..][..count];
        let expected: Vec<f64> = expected.iter().map(|s| f64::from(*s) / 32_768.0).collect();
        assert_eq!(block.channels, [expected]);
    }
    reader.seek(u64::MAX).unwrap();
    assert_eq!(reader.read(&mut block, 7).unwrap(), 0);
}
