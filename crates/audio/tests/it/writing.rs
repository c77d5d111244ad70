//! Writing: samples, dither, and files that are whole or not there.
//!
//! Dither figures: error of Delta^2/4 in all, values of dithered silence -1, 0 and
//! +1 with probability 1/8, 3/4 and 1/8 (Lipshitz, Wannamaker, Vanderkooy, JAES
//! 40(5), 1992; probabilities worked out from the triangular density).

use std::fs;
use std::path::Path;

use cupel_audio::{AudioError, SampleFormat, TEMPORARY_PREFIX, WavWriter};
use tempfile::TempDir;

use crate::support::{noise, read_path, run, sine};

const STEP: f64 = 1.0 / 8_388_608.0;

fn write(path: &Path, format: SampleFormat, channels: &[Vec<f64>]) -> cupel_audio::Written {
    let mut writer = WavWriter::create(path, 48_000, channels.len(), format).unwrap();
    for from in (0..channels[0].len()).step_by(1_000) {
        let to = channels[0].len().min(from + 1_000);
        let block: Vec<&[f64]> = channels.iter().map(|c| &c[from..to]).collect();
        writer.write(&block).unwrap();
    }
    writer.finish().unwrap()
}

fn names(folder: &TempDir) -> Vec<String> {
    let entries = fs::read_dir(folder.path()).unwrap();
    entries
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect()
}

#[test]
fn float_is_the_64_bit_sample_rounded_once() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    let sound = [noise(1, 5_001), noise(2, 5_001)].map(|c| c.iter().map(|x| 3.0 * x).collect());
    let written = write(&path, SampleFormat::F32, &sound);
    assert_eq!((written.frames, written.limited_samples), (5_001, 0));
    let rounded =
        sound.map(|c: Vec<f64>| c.iter().map(|x| f64::from(*x as f32)).collect::<Vec<_>>());
    assert!(read_path(&path).channels == rounded);
}

#[test]
fn dithered_silence() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    let frames = 200_000;
    write(&path, SampleFormat::I24, &[vec![0.0; frames]]);
    let steps: Vec<f64> = read_path(&path).channels[0]
        .iter()
        .map(|x| x / STEP)
        .collect();
    let share = |value: f64| steps.iter().filter(|s| **s == value).count() as f64 / frames as f64;
    // Four standard deviations of a count out of 200 000.
    assert!((share(-1.0) - 0.125).abs() < 0.003, "{}", share(-1.0));
    assert!((share(1.0) - 0.125).abs() < 0.003, "{}", share(1.0));
    assert!((share(0.0) - 0.75).abs() < 0.004, "{}", share(0.0));
    assert_eq!(share(-1.0) + share(0.0) + share(1.0), 1.0);
    // Total RMS at 24 bits: -144.49 dB re 1.0.
    let power: f64 = steps.iter().map(|s| (s * STEP).powi(2)).sum::<f64>() / frames as f64;
    assert!((10.0 * power.log10() + 144.49).abs() < 0.1);
}

/// The error's mean and variance do not follow the signal, wherever it lies between
/// two steps.
#[test]
fn the_error_does_not_follow_the_signal() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    let frames = 100_000;
    for part in [0.0, 0.1, 0.25, 0.5, 0.75] {
        let level = (1_000.0 + part) * STEP;
        write(&path, SampleFormat::I24, &[vec![level; frames]]);
        let errors: Vec<f64> = read_path(&path).channels[0]
            .iter()
            .map(|x| (x - level) / STEP)
            .collect();
        let mean: f64 = errors.iter().sum::<f64>() / frames as f64;
        let variance: f64 = errors.iter().map(|e| e * e).sum::<f64>() / frames as f64;
        assert!(mean.abs() < 0.0065, "{part}: {mean}");
        assert!((variance - 0.25).abs() < 0.005, "{part}: {variance}");
    }
}

#[test]
fn both_channels_have_dither_of_their_own() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    write(
        &path,
        SampleFormat::I24,
        &[vec![0.0; 50_000], vec![0.0; 50_000]],
    );
    let all = read_path(&path);
    let product: f64 = all.channels[0]
        .iter()
        .zip(&all.channels[1])
        .map(|(l, r)| l * r)
        .sum();
    let energy: f64 = all.channels[0].iter().map(|l| l * l).sum();
    assert!((product / energy).abs() < 0.03, "{}", product / energy);
}

#[test]
fn integers_stop_at_full_scale() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    let written = write(&path, SampleFormat::I24, &[vec![1.5, -1.5, 0.0, f64::NAN]]);
    assert_eq!(written.limited_samples, 2);
    let all = read_path(&path);
    assert_eq!(all.channels[0][..2], [1.0 - STEP, -1.0]);
}

#[test]
fn equal_input_gives_equal_bytes() {
    let folder = TempDir::new().unwrap();
    let (a, b) = (folder.path().join("a.wav"), folder.path().join("b.wav"));
    let sound = [noise(5, 3_000)];
    write(&a, SampleFormat::I24, &sound);
    let mut writer = WavWriter::create(&b, 48_000, 1, SampleFormat::I24).unwrap();
    sound[0]
        .chunks(7)
        .for_each(|block| writer.write(&[block]).unwrap());
    writer.finish().unwrap();
    assert!(fs::read(a).unwrap() == fs::read(b).unwrap());
}

/// An odd number of data bytes is followed by a pad byte that no size counts.
#[test]
fn odd_sizes_are_padded() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    write(&path, SampleFormat::I24, &[vec![0.0; 3]]);
    let bytes = fs::read(&path).unwrap();
    assert_eq!(bytes.len() % 2, 0);
    let riff_bytes = u32::from_le_bytes(bytes[4..8].try_into().unwrap());
    assert_eq!(riff_bytes as usize, bytes.len() - 8);
    assert_eq!(read_path(&path).frames(), 3);
}

/// Other programs read the same samples from both formats.
#[test]
fn other_programs_read_it() {
    let folder = TempDir::new().unwrap();
    let sound = [sine(997.0, 48_000.0, 0.5, 4_800), noise(1, 4_800)];
    for (format, coding) in [
        (SampleFormat::F32, "pcm_f32le"),
        (SampleFormat::I24, "pcm_s24le"),
    ] {
        let (path, copy) = (folder.path().join("x.wav"), folder.path().join("copy.wav"));
        write(&path, format, &sound);
        let (from, to) = (path.to_str().unwrap(), copy.to_str().unwrap());
        let arguments = [
            "-v", "error", "-xerror", "-y", "-i", from, "-c:a", coding, to,
        ];
        if run("ffmpeg", &arguments) {
            assert!(read_path(&path) == read_path(&copy));
        }
    }
}

#[test]
fn nothing_stands_at_the_target_before_the_end() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("mix.wav");
    fs::write(&path, b"earlier").unwrap();
    let mut writer = WavWriter::create(&path, 48_000, 1, SampleFormat::F32).unwrap();
    writer.write(&[vec![0.5; 100_000]]).unwrap();
    let mut found = names(&folder);
    found.sort();
    assert!(found[0].starts_with(TEMPORARY_PREFIX), "{found:?}");
    assert_eq!(fs::read(&path).unwrap(), b"earlier");
    drop(writer);
    assert_eq!(names(&folder), ["mix.wav"]);
    assert_eq!(fs::read(&path).unwrap(), b"earlier");
}

#[test]
fn wrong_shapes_are_refused() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("x.wav");
    let mut writer = WavWriter::create(&path, 48_000, 2, SampleFormat::F32).unwrap();
    let uneven = writer.write(&[vec![0.0; 2], vec![0.0; 3]]);
    assert!(matches!(
        uneven,
        Err(AudioError::Shape {
            given: 2,
            allowed: 2,
            ..
        })
    ));
    assert!(matches!(
        writer.write(&[[0.0]]),
        Err(AudioError::Shape { given: 1, .. })
    ));
    let many = WavWriter::create(&path, 48_000, 6, SampleFormat::F32);
    assert!(matches!(many, Err(AudioError::Shape { given: 6, .. })));
}

#[test]
fn a_missing_folder_is_named() {
    let path = Path::new("nowhere/at/all/mix.wav");
    let error = WavWriter::create(path, 48_000, 2, SampleFormat::F32).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("cannot write `nowhere/at/all/mix.wav`: ")
    );
    assert!(error.hint().unwrap().contains("folder exists"));
}
