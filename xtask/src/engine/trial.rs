//! Seeded material through every processor, by a module in node and by the native build.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use cupel_engine::{BLOCK_FRAMES, Engine, LEAD_FRAMES, MixSettings, PIECE_FRAMES, Reach};
use cupel_engine::{TrackSettings, piece};
use cupel_process::{Breakpoint, GainCurve, GroupSettings, LowCutSettings, Slope, StripSettings};

use crate::error::XtaskError;

const RATE_HZ: f64 = 44_100.0;
const TRACKS: usize = 6;
/// Pieces of sound from the start of the session on.
const PIECES: usize = 5;
/// Places a voice is brought to, and frames played from there in blocks of so many.
const PLAYED: [(u64, usize, usize); 3] = [(0, 30_000, 128), (29_001, 9_000, 37), (500, 20_000, 64)];

/// `node`, where it is installed.
pub(crate) fn node() -> Option<PathBuf> {
    let node = PathBuf::from("node");
    let there = Command::new(&node).arg("--version").output();
    there
        .is_ok_and(|output| output.status.success())
        .then_some(node)
}

/// Plays the material in both; gives the frames compared, which are the same bits.
pub(crate) fn same_as_native(module: &Path, node: &Path) -> Result<usize, XtaskError> {
    let native = native();
    let other = in_node(module, node)?;
    if native.len() == other.len()
        && native
            .iter()
            .zip(&other)
            .all(|(a, b)| a.to_bits() == b.to_bits())
    {
        return Ok(native.len() / 2);
    }
    let place = native
        .iter()
        .zip(&other)
        .position(|(a, b)| a.to_bits() != b.to_bits());
    Err(XtaskError::OtherBits {
        module: module.to_owned(),
        place: place.unwrap_or(native.len().min(other.len())),
    })
}

/// Samples of a track: its own form of each kind, noise that never repeats.
fn noise(track: usize, frames: usize) -> Vec<f64> {
    let mut state = 0x9e37_79b9_u64.wrapping_mul(track as u64 + 1);
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 30) - 1.0
    };
    // 16 bits, 24 bits, and what only floats hold.
    let steps = [32_768.0, 8_388_608.0, 0.0][track % 3];
    (0..frames)
        .map(|_| match next() * 0.7 {
            x if steps > 0.0 => (x * steps).round() / steps,
            x => f64::from(x as f32),
        })
        .collect()
}

fn pieces() -> Vec<Vec<u8>> {
    let frames = PIECES * PIECE_FRAMES;
    let sides: Vec<(Vec<f64>, Vec<f64>)> = (0..TRACKS)
        .map(|track| {
            let left = noise(track, frames);
            let mut right = left.clone();
            if track % 2 == 1 {
                right.reverse();
            }
            (left, right)
        })
        .collect();
    (0..PIECES)
        .map(|index| {
            let part = index * PIECE_FRAMES..(index + 1) * PIECE_FRAMES;
            let tracks: Vec<(&[f64], &[f64])> = sides
                .iter()
                .map(|(left, right)| (&left[part.clone()], &right[part.clone()]))
                .collect();
            piece::encode(&tracks)
        })
        .collect()
}

fn settings() -> Vec<f64> {
    let cut = |cutoff_hz, slope| LowCutSettings { cutoff_hz, slope };
    let point = |frame, gain_db| Breakpoint { frame, gain_db };
    let strip = |gain_db, pan, mono| StripSettings {
        gain_db,
        pan,
        mono,
        ..StripSettings::default()
    };
    let track = |group, delay_frames, strip| TrackSettings {
        plays: true,
        group,
        delay_frames,
        strip,
    };
    let mut tracks = vec![
        track(Some(0), 0, strip(-3.1, 0.0, true)),
        track(Some(0), 77, strip(0.0, 0.3, false)),
        track(Some(1), -130, strip(1.7, -0.8, true)),
        track(None, 0, strip(-12.0, 0.0, false)),
        track(Some(1), 0, strip(2.25, -0.1, true)),
        track(None, 5, StripSettings::default()),
    ];
    tracks[1].strip.low_cuts = vec![cut(31.0, Slope::Db24PerOctave)];
    tracks[2].strip.inverted = true;
    tracks[3].strip.low_cuts = vec![
        cut(120.0, Slope::Db12PerOctave),
        cut(90.0, Slope::Db24PerOctave),
    ];
    tracks[4].strip.curves = vec![
        GainCurve::new(vec![
            point(2_000, 0.0),
            point(9_000, -4.5),
            point(33_000, 1.0),
        ]),
        GainCurve::new(vec![point(20_000, -1.0)]),
    ];
    tracks[5].plays = false;
    let groups = vec![GroupSettings { gain_db: -1.3 }, GroupSettings::default()];
    MixSettings { tracks, groups }.encode(RATE_HZ)
}

/// The pieces before the session that tracks which play late ask for.
fn first_index() -> u64 {
    LEAD_FRAMES / PIECE_FRAMES as u64
}

fn native() -> Vec<f32> {
    let pieces = pieces();
    let mut engine = Engine::new(TRACKS, RATE_HZ, PIECES + 1, 1);
    let silence = vec![0.0; PIECE_FRAMES];
    let before = piece::encode(&[(&silence[..], &silence[..]); TRACKS]);
    for (slot, bytes) in pieces.iter().chain([&before]).enumerate() {
        if let Some(memory) = engine.slot(slot) {
            memory[..bytes.len()].copy_from_slice(bytes);
        }
        let index = if slot < PIECES {
            first_index() + slot as u64
        } else {
            first_index() - 1
        };
        engine.fill(slot, index, bytes.len());
    }
    let decoded = MixSettings::decode(&settings()).unwrap_or_default();
    let mut heard = Vec::new();
    if engine.set(0, &decoded).is_err() {
        return heard;
    }
    for (frame, frames, block) in PLAYED {
        while engine.reach(0, frame, 10_000) == Reach::Working {}
        let mut left = frames;
        while left > 0 {
            let count = engine.render(0, block.min(left));
            if count == 0 {
                return heard;
            }
            let (l, r) = engine.heard().split_at(BLOCK_FRAMES);
            heard.extend_from_slice(&l[..count]);
            heard.extend_from_slice(&r[..count]);
            left -= count;
        }
    }
    heard
}

/// The same by a module: the material goes there in files, the sound comes back in one.
fn in_node(module: &Path, node: &Path) -> Result<Vec<f32>, XtaskError> {
    let folder = tempfile::tempdir().map_err(XtaskError::file(Path::new("temporary folder")))?;
    let write = |name: String, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).map_err(XtaskError::file(&path))
    };
    for (number, bytes) in pieces().iter().enumerate() {
        write(format!("piece-{number}"), bytes)?;
    }
    let silence = vec![0.0; PIECE_FRAMES];
    let before = piece::encode(&[(&silence[..], &silence[..]); TRACKS]);
    write(format!("piece-{PIECES}"), &before)?;
    let numbers: Vec<u8> = settings().iter().flat_map(|x| x.to_le_bytes()).collect();
    write("settings".into(), &numbers)?;
    write("play.mjs".into(), include_bytes!("play.mjs"))?;
    let played: Vec<String> = PLAYED
        .iter()
        .map(|(a, b, c)| format!("{a}:{b}:{c}"))
        .collect();
    let output = Command::new(node)
        .arg(folder.path().join("play.mjs"))
        .arg(module)
        .arg(folder.path())
        .args([TRACKS, PIECES].map(|number| number.to_string()))
        .arg(RATE_HZ.to_string())
        .args(played)
        .output()
        .map_err(|source| XtaskError::Start {
            program: "node".into(),
            source,
        })?;
    if !output.status.success() {
        return Err(XtaskError::Failed {
            program: "node".into(),
            status: output.status,
            said: String::from_utf8_lossy(&output.stderr).into_owned(),
        });
    }
    let path = folder.path().join("heard");
    let bytes = fs::read(&path).map_err(XtaskError::file(&path))?;
    let (samples, _) = bytes.as_chunks::<4>();
    Ok(samples.iter().map(|x| f32::from_le_bytes(*x)).collect())
}
