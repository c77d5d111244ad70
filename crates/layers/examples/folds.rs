//! Folds of made sessions, for fitting and judging the finder.
//!
//! `folds demo OUT FIRST LAST` makes sessions with the demo generator (style by
//! seed) and folds every track, and their sum, over sixteen bars of the last drop
//! (eight where it is shorter); odd seeds are pushed into a soft clipper, as
//! records are. `folds dir OUT DIR...` does so for folders with `truth.json`.

use std::path::{Path, PathBuf};

use cupel_audio::TrackReader;
use cupel_demo::{DemoSettings, FaultPlan, Style, make};
use cupel_layers::{FoldedSound, LayerMeter};
use cupel_rhythm::BarLines;

type Any = Box<dyn std::error::Error>;
type Stereo = [Vec<f64>; 2];

fn main() -> Result<(), Any> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let out = PathBuf::from(&args[1]);
    std::fs::create_dir_all(&out)?;
    if args[0] == "demo" {
        for seed in args[2].parse::<u64>()?..=args[3].parse::<u64>()? {
            demo(seed, &out)?;
        }
    } else {
        for dir in &args[2..] {
            folder(Path::new(dir), &out)?;
        }
    }
    Ok(())
}

fn demo(seed: u64, out: &Path) -> Result<(), Any> {
    let style = Style::ALL[(seed % 8) as usize];
    let densities = [0.1, 0.3, 0.5, 0.7, 0.9];
    let settings = DemoSettings {
        seed,
        style,
        seconds: 100.0,
        voice: !seed.is_multiple_of(3),
        density: densities[(seed % 5) as usize],
        faults: FaultPlan::None,
        sample_rate_hz: 48_000,
        beats_per_bar: if seed % 16 == 7 { 3 } else { 4 },
        ..DemoSettings::default()
    };
    let session = make(&settings)?;
    let truth = serde_json::to_value(&session.truth)?;
    let tracks = session
        .tracks
        .iter()
        .zip(truth["tracks"].as_array().ok_or("no tracks")?)
        .map(|(track, known)| {
            let mut both: Stereo = [
                vec![0.0; track.samples.frames()],
                vec![0.0; track.samples.frames()],
            ];
            for (channel, out) in both.iter_mut().enumerate() {
                track.samples.read(channel, 0, out);
            }
            let role = known["role"].as_str().unwrap_or("").to_owned();
            (track.file.clone(), role, both)
        })
        .collect();
    write(&format!("demo{seed}"), seed % 2 == 1, &truth, tracks, out)
}

fn folder(dir: &Path, out: &Path) -> Result<(), Any> {
    let truth: serde_json::Value = serde_json::from_slice(&std::fs::read(dir.join("truth.json"))?)?;
    let rate = truth["sample_rate_hz"].as_f64().ok_or("rate")?;
    let mut tracks = Vec::new();
    for known in truth["tracks"].as_array().ok_or("no tracks")? {
        let file = known["file"].as_str().ok_or("file")?.to_owned();
        let role = known["role"].as_str().unwrap_or("").to_owned();
        tracks.push((file.clone(), role, read(&dir.join(&file), rate as u32)?));
    }
    let name = dir
        .file_name()
        .ok_or("name")?
        .to_string_lossy()
        .into_owned();
    let hot = truth["hot"].as_bool().unwrap_or(true);
    write(&name, hot, &truth, tracks, out)
}

fn read(path: &Path, rate: u32) -> Result<Stereo, Any> {
    let mut reader = TrackReader::open(path, rate, 0)?;
    let mut both: Stereo = [Vec::new(), Vec::new()];
    loop {
        let (mut left, mut right) = (vec![0.0; 65_536], vec![0.0; 65_536]);
        let frames = reader.read(&mut left, &mut right)?;
        if frames == 0 {
            break;
        }
        both[0].extend_from_slice(&left[..frames]);
        both[1].extend_from_slice(&right[..frames]);
    }
    Ok(both)
}

fn write(
    name: &str,
    hot: bool,
    truth: &serde_json::Value,
    tracks: Vec<(String, String, Stereo)>,
    out: &Path,
) -> Result<(), Any> {
    let lines = passage(truth).ok_or("no passage")?;
    let rate = truth["sample_rate_hz"].as_f64().ok_or("rate")?;
    let frames = tracks
        .iter()
        .map(|(.., both)| both[0].len())
        .max()
        .unwrap_or(0);
    let mut mix: Stereo = [vec![0.0; frames], vec![0.0; frames]];
    let mut folds: Vec<(String, String, FoldedSound)> = Vec::new();
    for (file, role, both) in &tracks {
        for (sum, channel) in mix.iter_mut().zip(both) {
            sum.iter_mut().zip(channel).for_each(|(sum, x)| *sum += x);
        }
        folds.push((file.clone(), role.clone(), fold(both, rate, &lines)));
    }
    if hot {
        // 6 dB into a soft clipper
        let peak = mix
            .iter()
            .flatten()
            .fold(0.0f64, |peak, x| peak.max(x.abs()));
        for channel in &mut mix {
            channel
                .iter_mut()
                .for_each(|x| *x = (2.0 * *x / peak).tanh());
        }
    }
    folds.push(("mix".to_owned(), "mix".to_owned(), fold(&mix, rate, &lines)));
    std::fs::write(
        out.join(format!("{name}.folds")),
        postcard::to_stdvec(&folds)?,
    )?;
    Ok(())
}

fn fold(both: &Stereo, rate: f64, lines: &BarLines) -> FoldedSound {
    let mut meter = LayerMeter::new(rate, 2, lines, 0.0);
    meter.push(&[&both[0], &both[1]]);
    meter.finish()
}

/// Sixteen bars, or eight, of the last busiest section.
fn passage(truth: &serde_json::Value) -> Option<BarLines> {
    let sections = truth["sections"].as_array()?;
    let busiest = sections.iter().rev().find(|s| s["busiest"] == true)?;
    let start_s = busiest["start_s"].as_f64()?;
    let beats = truth["beats_per_bar"].as_u64()? as u32;
    let bar_s = 60.0 / truth["tempo_bpm"].as_f64()? * f64::from(beats);
    let there = ((busiest["end_s"].as_f64()? - start_s) / bar_s).round() as usize;
    let bars = if there >= 16 { 16 } else { there.min(8) };
    Some(BarLines {
        bar_starts_s: (0..=bars).map(|bar| start_s + bar as f64 * bar_s).collect(),
        beats_per_bar: beats,
        swing: truth["swing"].as_f64()?,
    })
}
