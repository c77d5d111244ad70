//! Real recorded sessions of known truth, beside an independent library.
//!
//! The sessions lie where `CUPEL_SESSIONS` says; without it these tests print
//! that they were skipped.

use std::fs;
use std::path::{Path, PathBuf};

use cupel_audio::{Planar, Reader};
use cupel_store::Store;
use cupel_survey::measure_files;
use ebur128::{EbuR128, Mode};

/// Every audio file of every session.
fn files() -> Option<Vec<PathBuf>> {
    let root = PathBuf::from(std::env::var_os("CUPEL_SESSIONS")?);
    let mut files = Vec::new();
    for session in list(&root) {
        if session.join("truth.json").is_file() {
            files.extend(list(&session.join("tracks")));
            files.push(session.join("record.flac"));
        }
    }
    (!files.is_empty()).then_some(files)
}

fn list(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    paths.sort();
    paths
}

/// Integrated loudness and true peak of a file as it plays, by the `ebur128`
/// library: ITU-R BS.1770-4, true peak by 4x oversampling.
fn by_library(path: &Path) -> (f64, f64) {
    let mut reader = Reader::open(path).unwrap();
    let rate = reader.info().sample_rate_hz;
    let mono = reader.info().channels == 1;
    let mut meter = EbuR128::new(2, rate, Mode::I | Mode::TRUE_PEAK).unwrap();
    let mut block = Planar::new(2, 8192);
    while reader.read(&mut block, 8192).unwrap() > 0 {
        let left = &block.channels[0];
        let right = if mono { left } else { &block.channels[1] };
        meter.add_frames_planar_f64(&[left, right]).unwrap();
    }
    let peak = meter.true_peak(0).unwrap().max(meter.true_peak(1).unwrap());
    (meter.loudness_global().unwrap(), 20.0 * peak.log10())
}

/// Limits of the job: loudness within 0.1 LU of the library; true peak never
/// over 0.1 dB below it.
#[test]
fn loudness_and_peak_agree_with_the_library() {
    let Some(files) = files() else {
        println!("skipped: CUPEL_SESSIONS names no sessions");
        return;
    };
    let dir = tempfile::tempdir().unwrap();
    let store = Store::open(Some(dir.path())).unwrap();
    let measured = measure_files(&files, &store, &|_, _| ());
    let (mut furthest, mut lowest) = (0.0f64, f64::INFINITY);
    for (path, measured) in files.iter().zip(measured) {
        let summary = measured.unwrap().summary;
        let (lufs, peak_dbtp) = by_library(path);
        let loudness_error = summary.integrated_lufs.unwrap() - lufs;
        let peak_error = summary.true_peak_dbtp.unwrap() - peak_dbtp;
        assert!(
            loudness_error.abs() <= 0.1,
            "{}: {loudness_error} LU",
            path.display()
        );
        assert!(peak_error >= -0.1, "{}: {peak_error} dB", path.display());
        furthest = furthest.max(loudness_error.abs());
        lowest = lowest.min(peak_error);
    }
    println!(
        "{} files: loudness within {furthest:.4} LU, true peak at lowest {lowest:+.3} dB",
        files.len()
    );
}
