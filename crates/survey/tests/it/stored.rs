//! What was measured before is found again, and nothing depends on threads.

use std::path::PathBuf;

use cupel_audio::{SampleFormat, WavWriter};
use cupel_store::Store;
use cupel_survey::{StretchOf, bands_of, measure_file, measure_files, measure_stretch};

/// A tone that swells, a different one for each number.
fn write_tone(folder: &std::path::Path, number: u32) -> PathBuf {
    let path = folder.join(format!("{number}.wav"));
    let step = std::f64::consts::TAU * 110.0 * f64::from(number + 1) / 48_000.0;
    let left: Vec<f64> = (0..96_000)
        .map(|n| (step * f64::from(n)).sin() * f64::from(n) / 200_000.0)
        .collect();
    let right: Vec<f64> = left.iter().map(|x| 0.5 * x).collect();
    let mut writer = WavWriter::create(&path, 48_000, 2, SampleFormat::F32).unwrap();
    writer.write(&[&left, &right]).unwrap();
    writer.finish().unwrap();
    path
}

fn store(dir: &tempfile::TempDir) -> Store {
    Store::open(Some(&dir.path().join("cache"))).unwrap()
}

#[test]
fn a_warm_store_gives_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let (store, path) = (store(&dir), write_tone(dir.path(), 1));
    let cold = measure_file(&path, &store).unwrap();
    let bands = bands_of(&path, &cold, &store).unwrap();
    assert!(store.contents().unwrap().records > 0);
    let warm = measure_file(&path, &store).unwrap();
    assert_eq!((&cold.summary, &cold.curve), (&warm.summary, &warm.curve));
    store.clear().unwrap();
    assert_eq!(bands_of(&path, &warm, &store).unwrap(), bands);
}

#[test]
fn any_number_of_threads_gives_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let paths: Vec<PathBuf> = (0..5).map(|n| write_tone(dir.path(), n)).collect();
    let with = |threads: usize| {
        let store = Store::open(Some(&dir.path().join(format!("cache-{threads}")))).unwrap();
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let measured = pool.install(|| measure_files(&paths, &store, &|_, _| ()));
        measured
            .into_iter()
            .map(|m| m.unwrap().summary)
            .collect::<Vec<_>>()
    };
    let one = with(1);
    assert_eq!(one, with(3));
    assert_eq!(one.len(), 5);
}

/// The right side is 6.02 dB under the left throughout, so any stretch leans by
/// that; past the end of the file there is silence.
#[test]
fn a_stretch_is_measured_by_itself() {
    let dir = tempfile::tempdir().unwrap();
    let (store, path) = (store(&dir), write_tone(dir.path(), 2));
    let stretch = |start_s: f64, end_s: f64| {
        let of = StretchOf {
            path: path.clone(),
            content: "x",
            file_start_frames: 0,
            start_s,
            end_s,
        };
        measure_stretch(&of, 48_000, &store).unwrap()
    };
    let middle = stretch(0.5, 1.5);
    assert_eq!(middle.frames, 48_000);
    assert!((middle.lean_db.unwrap() + 6.0206).abs() < 1e-3);
    let after = stretch(3.0, 4.0);
    assert_eq!(
        (after.frames, after.integrated_lufs, after.lean_db),
        (48_000, None, None)
    );
}
