//! Bytes of any kind: they are read or refused, and nothing panics.

use std::fs;
use std::path::{Path, PathBuf};

use cupel_audio::{HealthMeter, Planar, Reader};
use proptest::prelude::*;

use crate::support::{chunk, fmt, riff, wav_16};

/// Frames read before a file is let go.
const MOST_FRAMES: usize = 200_000;

/// Opens, reads, seeks and checks, as the commands do.
fn walk(name: &str, bytes: &[u8]) {
    let Ok(mut reader) = Reader::from_bytes(name, bytes) else {
        return;
    };
    let info = reader.info().clone();
    assert!((1..=2).contains(&info.channels));
    let mut meter = HealthMeter::new(info.sample_rate_hz, info.channels);
    let mut block = Planar::default();
    let mut frames = 0;
    while frames < MOST_FRAMES {
        let count = reader.read(&mut block, 4_096).unwrap();
        assert_eq!(block.frames(), count);
        if count == 0 {
            break;
        }
        meter.push_planar(&block);
        frames += count;
    }
    meter.finish();
    reader.notes();
    reader.seek(frames as u64 / 2).unwrap();
    reader.read(&mut block, 100).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        walk("x.wav", &bytes);
    }

    #[test]
    fn any_chunks_in_a_container(
        form in prop::sample::select(vec![*b"RIFF", *b"RF64", *b"BW64"]),
        chunks in prop::collection::vec((
            prop::sample::select(vec![*b"fmt ", *b"data", *b"ds64", *b"bext", *b"LIST"]),
            any::<u32>(),
            prop::collection::vec(any::<u8>(), 0..64),
        ), 0..6),
    ) {
        let mut bytes = riff(&[]);
        bytes[..4].copy_from_slice(&form);
        for (id, size, body) in chunks {
            bytes.extend(id);
            bytes.extend(size.to_le_bytes());
            bytes.extend(body);
        }
        walk("x.wav", &bytes);
    }

    /// A sound file with a few bytes changed and its end cut off.
    #[test]
    fn spoilt_files(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..8),
        end in any::<prop::sample::Index>(),
    ) {
        let mut bytes = riff(&[
            chunk(b"fmt ", &fmt(3, 2, 44_100, 32)),
            chunk(b"bext", &[7; 602]),
            chunk(b"data", &[1; 803]),
        ]);
        for (at, value) in changes {
            let at = at.index(bytes.len());
            bytes[at] = value;
        }
        bytes.truncate(end.index(bytes.len()) + 1);
        walk("x.wav", &bytes);
    }
}

/// Sizes at their extremes, in every place where a size stands.
#[test]
fn lying_sizes() {
    let whole = wav_16(&[1, 2, 3, 4, 5]);
    for at in [4, 16, 20, 22, 24, 28, 32, 34, 40] {
        for value in [0u32, 1, 2, 0x7FFF_FFFF, 0x8000_0000, u32::MAX - 8, u32::MAX] {
            let mut bytes = whole.clone();
            bytes[at..at + 4].copy_from_slice(&value.to_le_bytes());
            walk("x.wav", &bytes);
        }
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap();
    let mut files: Vec<PathBuf> = entries.map(|e| e.unwrap().path()).collect();
    files.sort();
    files
}

/// Files that once broke the reader, and the hand-made ones that fuzzing starts from.
#[test]
fn files_found_by_fuzzing() {
    let fuzz = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz");
    for folder in ["found/riff", "seeds/riff"] {
        let files = files(&fuzz.join(folder));
        assert!(!files.is_empty(), "{folder}");
        for file in files {
            walk("x.wav", &fs::read(file).unwrap());
        }
    }
}
