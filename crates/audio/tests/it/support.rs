//! Files made byte by byte, signals of fixed seed, and the way to other programs.

use std::path::Path;
use std::process::Command;

use cupel_audio::{Planar, Reader};

/// A chunk with its pad byte.
pub fn chunk(id: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut bytes = id.to_vec();
    bytes.extend((body.len() as u32).to_le_bytes());
    bytes.extend(body);
    bytes.resize(bytes.len() + body.len() % 2, 0);
    bytes
}

/// The first 16 bytes of every format chunk.
pub fn fmt(tag: u16, channels: u16, rate_hz: u32, bits: u16) -> Vec<u8> {
    let block = channels * (bits / 8);
    let mut body = Vec::new();
    body.extend(tag.to_le_bytes());
    body.extend(channels.to_le_bytes());
    body.extend(rate_hz.to_le_bytes());
    body.extend((rate_hz * u32::from(block)).to_le_bytes());
    body.extend(block.to_le_bytes());
    body.extend(bits.to_le_bytes());
    body
}

/// A whole file of these chunks.
pub fn riff(chunks: &[Vec<u8>]) -> Vec<u8> {
    let body: Vec<u8> = chunks.concat();
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((body.len() as u32 + 4).to_le_bytes());
    bytes.extend(b"WAVE");
    bytes.extend(body);
    bytes
}

/// A mono 16-bit file at 48 kHz.
pub fn wav_16(samples: &[i16]) -> Vec<u8> {
    riff(&[
        chunk(b"fmt ", &fmt(1, 1, 48_000, 16)),
        chunk(b"data", &bytes_16(samples)),
    ])
}

pub fn bytes_16(samples: &[i16]) -> Vec<u8> {
    samples.iter().flat_map(|s| s.to_le_bytes()).collect()
}

/// Reads everything, in blocks of a size that divides nothing.
pub fn read_all(reader: &mut Reader) -> Planar {
    let channels = reader.info().channels;
    let mut all = Planar::new(channels, 0);
    let mut block = Planar::default();
    while reader.read(&mut block, 1_009).unwrap() > 0 {
        for (all, new) in all.channels.iter_mut().zip(&block.channels) {
            all.extend(new);
        }
    }
    all
}

/// Reads a file held in memory.
pub fn read_bytes(bytes: Vec<u8>) -> Planar {
    read_all(&mut Reader::from_bytes("test", bytes).unwrap())
}

pub fn read_path(path: &Path) -> Planar {
    read_all(&mut Reader::open(path).unwrap())
}

/// Noise of fixed seed between -1 and 1 (linear congruential, Knuth's MMIX constants).
pub fn noise(seed: u64, frames: usize) -> Vec<f64> {
    let mut state = seed;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    };
    (0..frames).map(|_| next()).collect()
}

pub fn sine(frequency_hz: f64, rate_hz: f64, amplitude: f64, frames: usize) -> Vec<f64> {
    let step = std::f64::consts::TAU * frequency_hz / rate_hz;
    (0..frames)
        .map(|n| amplitude * (step * n as f64).sin())
        .collect()
}

/// Runs a program quietly; `false`, said aloud, where it is not installed.
pub fn run(program: &str, arguments: &[&str]) -> bool {
    match Command::new(program).args(arguments).output() {
        Ok(output) => {
            let talk = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{program} {arguments:?}: {talk}");
            true
        }
        Err(_) => {
            println!("skipped: {program} is not installed");
            false
        }
    }
}

/// Converts a file with ffmpeg; `false`, said aloud, where it is not installed.
pub fn ffmpeg(from: &Path, arguments: &[&str], to: &Path) -> bool {
    let mut all = vec!["-v", "error", "-y", "-i", from.to_str().unwrap()];
    all.extend(arguments);
    all.push(to.to_str().unwrap());
    run("ffmpeg", &all)
}
