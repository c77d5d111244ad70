//! Every format that is read, made by other programs from one known signal.
//!
//! Lossless codings must give the same bits; lossy ones must be on time to the
//! sample and as long as the source.

use std::path::{Path, PathBuf};

use cupel_audio::{Planar, Reader, Tags};

use crate::support::{chunk, ffmpeg, fmt, noise, read_all, read_path, riff, run};

const FRAMES: usize = 66_150;
const RATE_HZ: u32 = 44_100;

/// Low-passed noise, other on each side: a signal with one sharp correlation peak.
fn signal(channels: usize) -> Vec<Vec<i32>> {
    let channel = |seed: u64| {
        let mut state = 0.0;
        let smooth = noise(seed, FRAMES).into_iter().map(|x| {
            state += 0.1 * (x - state);
            (state * 8_388_608.0) as i32
        });
        smooth.collect()
    };
    (1..=channels as u64).map(channel).collect()
}

fn as_floats(signal: &[Vec<i32>]) -> Vec<Vec<f64>> {
    let scale = |x: &i32| f64::from(*x) / 8_388_608.0;
    signal
        .iter()
        .map(|c| c.iter().map(scale).collect())
        .collect()
}

/// The signal as a 24-bit WAV.
fn source(folder: &Path, channels: usize) -> PathBuf {
    let signal = signal(channels);
    let data: Vec<u8> = (0..FRAMES)
        .flat_map(|n| signal.iter().map(move |c| c[n]).collect::<Vec<i32>>())
        .flat_map(|x| x.to_le_bytes()[..3].to_vec())
        .collect();
    let bytes = riff(&[
        chunk(b"fmt ", &fmt(1, channels as u16, RATE_HZ, 24)),
        chunk(b"data", &data),
    ]);
    let path = folder.join("source.wav");
    std::fs::write(&path, bytes).unwrap();
    path
}

/// Frames asked for in the reads after a seek.
const AFTER_SEEK: usize = 700;

/// Every read after a seek has the samples of the unbroken read.
fn check_seeks(path: &Path, all: &Planar) {
    let mut reader = Reader::open(path).unwrap();
    let mut block = Planar::default();
    for frame in [50_000usize, 12_345, 0, 4_096, 60_001, 1, all.frames() - 10] {
        reader.seek(frame as u64).unwrap();
        let count = reader.read(&mut block, AFTER_SEEK).unwrap();
        assert_eq!(count, AFTER_SEEK.min(all.frames() - frame), "{frame}");
        for (block, all) in block.channels.iter().zip(&all.channels) {
            assert!(
                block[..] == all[frame..frame + count],
                "{path:?} at {frame}"
            );
        }
    }
}

fn check_lossless(name: &str, arguments: &[&str], container: &str, encoding: &str) {
    let folder = tempfile::tempdir().unwrap();
    for channels in [1, 2] {
        let path = folder.path().join(name);
        if !ffmpeg(&source(folder.path(), channels), arguments, &path) {
            return;
        }
        let mut reader = Reader::open(&path).unwrap();
        let info = reader.info().clone();
        assert_eq!((&*info.container, &*info.encoding), (container, encoding));
        assert_eq!((info.bits, info.lossy), (24, false));
        assert_eq!(info.frames, Some(FRAMES as u64));
        let all = read_all(&mut reader);
        assert!(
            all.channels == as_floats(&signal(channels)),
            "{name} {channels}"
        );
        assert_eq!(reader.notes(), []);
        check_seeks(&path, &all);
    }
}

#[test]
fn flac() {
    check_lossless("x.flac", &["-c:a", "flac"], "FLAC", "FLAC");
}

#[test]
fn flac_of_the_reference_encoder() {
    let folder = tempfile::tempdir().unwrap();
    let source = source(folder.path(), 2);
    let path = folder.path().join("x.flac");
    let arguments = [
        "--silent",
        "-8",
        "-o",
        path.to_str().unwrap(),
        source.to_str().unwrap(),
    ];
    if run("flac", &arguments) {
        let all = read_path(&path);
        assert!(all.channels == as_floats(&signal(2)));
        check_seeks(&path, &all);
    }
}

#[test]
fn alac() {
    let coding = ["-c:a", "alac", "-sample_fmt", "s32p"];
    check_lossless("x.m4a", &coding, "MP4", "ALAC");
}

#[test]
fn aiff() {
    check_lossless("x.aiff", &["-c:a", "pcm_s24be"], "AIFF", "24-bit integer");
}

#[test]
fn rf64() {
    check_lossless(
        "x.wav",
        &["-c:a", "pcm_s24le", "-rf64", "always"],
        "RF64",
        "24-bit integer",
    );
}

/// The lag of `heard` behind `source`, and how alike they are there (1 = the same).
fn lag(source: &[f64], heard: &[f64]) -> (i64, f64) {
    const REACH: i64 = 2_400;
    let middle = 20_000..40_000usize;
    let product = |lag: i64| -> f64 {
        let heard = &heard[(middle.start as i64 + lag) as usize..];
        source[middle.clone()]
            .iter()
            .zip(heard)
            .map(|(a, b)| a * b)
            .sum()
    };
    let energy: f64 = source[middle.clone()].iter().map(|a| a * a).sum();
    let best = (-REACH..=REACH)
        .max_by(|a, b| product(*a).total_cmp(&product(*b)))
        .unwrap();
    (best, product(best) / energy)
}

fn check_lossy(path: &Path, channels: usize, container: &str, encoding: &str) {
    let mut reader = Reader::open(path).unwrap();
    let info = reader.info().clone();
    assert_eq!((&*info.container, &*info.encoding), (container, encoding));
    assert_eq!((info.bits, info.lossy), (0, true));
    assert_eq!(info.frames, Some(FRAMES as u64), "{path:?}");
    let all = read_all(&mut reader);
    assert_eq!(all.frames(), FRAMES, "{path:?}");
    for (source, heard) in as_floats(&signal(channels)).iter().zip(&all.channels) {
        let (lag, likeness) = lag(source, heard);
        assert_eq!(lag, 0, "{path:?}");
        assert!((likeness - 1.0).abs() < 0.05, "{path:?}: {likeness}");
    }
    assert_eq!(reader.notes(), []);
    check_seeks(path, &all);
}

fn check_lossy_ffmpeg(name: &str, arguments: &[&str], container: &str, encoding: &str) {
    let folder = tempfile::tempdir().unwrap();
    for channels in [1, 2] {
        let path = folder.path().join(name);
        if ffmpeg(&source(folder.path(), channels), arguments, &path) {
            check_lossy(&path, channels, container, encoding);
        }
    }
}

#[test]
fn mp3_constant_and_variable() {
    check_lossy_ffmpeg(
        "x.mp3",
        &["-c:a", "libmp3lame", "-b:a", "256k"],
        "MP3",
        "MP3",
    );
    check_lossy_ffmpeg("x.mp3", &["-c:a", "libmp3lame", "-q:a", "2"], "MP3", "MP3");
}

/// Tags as another program writes them.
#[test]
fn year_and_genre() {
    let folder = tempfile::tempdir().unwrap();
    let source = source(folder.path(), 2);
    for name in ["x.mp3", "x.flac", "x.m4a", "x.ogg"] {
        let path = folder.path().join(name);
        let tags = [
            "-metadata",
            "date=1994-05-01",
            "-metadata",
            "genre=Deep House",
        ];
        if !ffmpeg(&source, &tags, &path) {
            return;
        }
        let tags = Reader::open(&path).unwrap().tags();
        assert_eq!(tags.year, Some(1994), "{name}");
        assert_eq!(tags.genre.as_deref(), Some("Deep House"), "{name}");
    }
    assert_eq!(Reader::open(&source).unwrap().tags(), Tags::default());
}

#[test]
fn mp3_of_its_own_encoder() {
    let folder = tempfile::tempdir().unwrap();
    let source = source(folder.path(), 2);
    let path = folder.path().join("x.mp3");
    let arguments = [
        "--quiet",
        "-b",
        "320",
        source.to_str().unwrap(),
        path.to_str().unwrap(),
    ];
    if run("lame", &arguments) {
        check_lossy(&path, 2, "MP3", "MP3");
    }
}

/// The decoder itself hands on 1024 frames of encoder delay; the edit list says so.
#[test]
fn aac() {
    check_lossy_ffmpeg("x.m4a", &["-c:a", "aac", "-b:a", "256k"], "MP4", "AAC");
}

#[test]
fn vorbis() {
    check_lossy_ffmpeg(
        "x.ogg",
        &["-c:a", "libvorbis", "-q:a", "8"],
        "Ogg",
        "Vorbis",
    );
}

#[test]
fn float_over_full_scale_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.aiff");
    let louder = ["-af", "volume=6dB", "-c:a", "pcm_f32be", "-f", "aiff"];
    if ffmpeg(&source(folder.path(), 2), &louder, &path) {
        let peak = |all: &Planar| all.channels[0].iter().fold(0.0, |p: f64, x| p.max(x.abs()));
        let quiet = as_floats(&signal(2))[0]
            .iter()
            .fold(0.0, |p: f64, x| p.max(x.abs()));
        let ratio = peak(&read_path(&path)) / quiet;
        assert!((ratio / 10f64.powf(0.3) - 1.0).abs() < 1e-6, "{ratio}");
    }
}

#[test]
fn formats_that_are_not_read_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let source = source(folder.path(), 2);
    let cases: [(&str, &[&str], &str); 6] = [
        ("x.opus", &["-c:a", "libopus"], "Opus is not supported"),
        ("x.wv", &["-c:a", "wavpack"], "WavPack is not supported"),
        ("x.w64", &["-c:a", "pcm_s24le"], "W64 is not supported"),
        ("x.caf", &["-c:a", "pcm_s24be"], "CAF is not supported"),
        (
            "x.mka",
            &["-c:a", "flac"],
            "Matroska or WebM is not supported",
        ),
        (
            "y.flac",
            &["-c:a", "flac", "-ac", "6"],
            "it has 6 channels, one or two are allowed",
        ),
    ];
    for (name, arguments, message) in cases {
        let path = folder.path().join(name);
        if ffmpeg(&source, arguments, &path) {
            let error = Reader::open(&path).unwrap_err();
            let expected = format!("cannot read `{}`: {message}", path.display());
            assert_eq!(error.to_string(), expected);
            assert!(error.hint().is_some());
        }
    }
}

#[test]
fn a_file_without_sound_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.flac");
    if ffmpeg(
        &source(folder.path(), 1),
        &["-t", "0", "-c:a", "flac"],
        &path,
    ) {
        let error = Reader::open(&path).unwrap_err();
        assert!(error.to_string().ends_with("holds no sound"), "{error}");
    }
}

/// Half a file is read as far as it goes, and says so.
#[test]
fn truncated_files() {
    let folder = tempfile::tempdir().unwrap();
    let source = source(folder.path(), 2);
    let cases: [(&str, &[&str]); 2] = [
        ("x.flac", &["-c:a", "flac"]),
        ("x.mp3", &["-c:a", "libmp3lame"]),
    ];
    for (name, arguments) in cases {
        let path = folder.path().join(name);
        if !ffmpeg(&source, arguments, &path) {
            continue;
        }
        let bytes = std::fs::read(&path).unwrap();
        let half = bytes[..bytes.len() * 6 / 10].to_vec();
        let mut reader = Reader::from_bytes(name, half).unwrap();
        let frames = read_all(&mut reader).frames();
        assert!(
            (FRAMES * 4 / 10..FRAMES * 8 / 10).contains(&frames),
            "{name}: {frames}"
        );
        let note = &reader.notes()[0];
        assert_eq!(note.code, cupel_audio::HealthCode::Truncated, "{name}");
    }
}

#[test]
fn a_truncated_mp4_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.m4a");
    let arguments = ["-c:a", "aac", "-movflags", "+faststart"];
    if ffmpeg(&source(folder.path(), 2), &arguments, &path) {
        let bytes = std::fs::read(&path).unwrap();
        let cut = bytes[..bytes.len() - 100].to_vec();
        let error = Reader::from_bytes("x.m4a", cut).unwrap_err();
        let expected = "cannot read `x.m4a`: the file is cut off, 100 bytes are missing";
        assert_eq!(error.to_string(), expected);
    }
}
