//! The goals on references of shared sessions, where `CUPEL_SESSIONS` names them.

use std::path::{Path, PathBuf};

use cupel_audio::{Planar, Reader};
use cupel_stretch::stretch;

use crate::material::{RATE_HZ, frame, plan};
use crate::meters::{blocks, differences, lag_s, third_octaves_db};

/// Bars that are stretched.
const BARS: usize = 8;

fn sessions() -> Vec<PathBuf> {
    let Some(folder) = std::env::var_os("CUPEL_SESSIONS") else {
        println!("skipped: CUPEL_SESSIONS is not set");
        return Vec::new();
    };
    let folders = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found: Vec<PathBuf> = folders
        .map(|entry| entry.path())
        .filter(|path| path.join("truth.json").exists())
        .collect();
    found.sort();
    found
}

fn read(path: &Path) -> Vec<Vec<f64>> {
    let mut reader = Reader::open(path).unwrap();
    assert_eq!(reader.info().sample_rate_hz, RATE_HZ);
    let mut channels: Vec<Vec<f64>> = Vec::new();
    let mut block = Planar::default();
    while reader.read(&mut block, 8192).unwrap() > 0 {
        channels.resize(block.channels.len(), Vec::new());
        for (all, new) in channels.iter_mut().zip(&block.channels) {
            all.extend_from_slice(new);
        }
    }
    channels
}

/// Places on the sixteenths of the grid where the sound rises by 8 dB or more.
fn clear_hits(channel: &[f64], start_s: f64, tempo_bpm: f64) -> Vec<f64> {
    let power = blocks(channel);
    let mean = |from: usize, to: usize| power[from..to].iter().sum::<f64>() / (to - from) as f64;
    (1..16 * BARS - 1)
        .filter_map(|step| {
            let at = ((start_s + step as f64 * 15.0 / tempo_bpm) / 0.0005) as usize;
            let rises = (at - 20..at + 20).map(|n| (n, mean(n, n + 6) / (mean(n - 8, n) + 1e-12)));
            let (place, rise) = rises.max_by(|a, b| a.1.total_cmp(&b.1))?;
            (rise >= 6.3).then_some(place as f64 * 0.0005)
        })
        .collect()
}

fn judge(name: &str, channels: &[Vec<f64>], tempo_bpm: f64, start_s: f64, change: f64) {
    let new_bpm = tempo_bpm * (1.0 + change);
    let output = stretch(
        channels,
        RATE_HZ,
        &plan(start_s, tempo_bpm, 4 * BARS, new_bpm, 0.0),
    )
    .unwrap();
    let (from, to) = (differences(&channels[0]), differences(&output[0]));
    let mut lags_ms: Vec<f64> = clear_hits(&from, start_s, tempo_bpm)
        .iter()
        .filter_map(|at_s| lag_s(&from, *at_s, &to, (at_s - start_s) / (1.0 + change)))
        .map(|lag_s| 1000.0 * lag_s.abs())
        .collect();
    lags_ms.sort_by(f64::total_cmp);
    let end_s = start_s + BARS as f64 * 240.0 / tempo_bpm;
    let part: Vec<&[f64]> = channels
        .iter()
        .map(|channel| &channel[frame(start_s)..frame(end_s)])
        .collect();
    let output: Vec<&[f64]> = output.iter().map(Vec::as_slice).collect();
    let worst = |lowest_hz: f64| {
        let (before, after) = (
            third_octaves_db(&part, lowest_hz),
            third_octaves_db(&output, lowest_hz),
        );
        let off = before
            .iter()
            .zip(&after)
            .map(|(before, after)| (before.1 - after.1).abs());
        off.fold(0.0, f64::max)
    };
    let late_ms = lags_ms.last().copied().unwrap_or(0.0);
    println!(
        "{name} {change:+}: {} clear hits, at most {late_ms:.2} ms off; third octaves at most \
         {:.2} dB off, {:.2} dB from 50 Hz",
        lags_ms.len(),
        worst(25.0),
        worst(50.0),
    );
    assert!(late_ms <= 3.0, "{name} {change}: {late_ms} ms");
    assert!(worst(50.0) <= 0.5, "{name} {change}: {} dB", worst(50.0));
}

#[test]
fn references_keep_grid_and_spectrum() {
    for folder in sessions() {
        let text = std::fs::read_to_string(folder.join("truth.json")).unwrap();
        let truth: serde_json::Value = serde_json::from_str(&text).unwrap();
        let reference = &truth["reference"];
        let tempo_bpm = reference["tempo_bpm"].as_f64().unwrap();
        let sections = reference["sections"].as_array().unwrap();
        let busiest = sections
            .iter()
            .find(|section| section["busiest"] == true)
            .unwrap();
        let channels = read(&folder.join(reference["file"].as_str().unwrap()));
        let name = folder.file_name().unwrap().to_string_lossy();
        for change in [0.08, -0.08] {
            judge(
                &name,
                &channels,
                tempo_bpm,
                busiest["start_s"].as_f64().unwrap(),
                change,
            );
        }
    }
}
