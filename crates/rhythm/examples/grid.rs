//! Prints the grid of files: `grid [--features] [--skip S] [--range LOW HIGH]
//! [--given BPM] FILE...`. With several files joined by `|` their sum is read.
//!
//! `--features` prints the rows the weights are fitted on, one JSON object a
//! file; `--skip` leaves out the first seconds.

use std::path::Path;
use std::time::Instant;

use cupel_audio::TrackReader;
use cupel_rhythm::{OnsetCurve, OnsetMeter, TempoSettings, find_grid, fitting};

const BLOCK: usize = 16_384;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut words = std::env::args().skip(1);
    let mut settings = TempoSettings::default();
    let (mut rows, mut skip_s) = (false, 0.0);
    while let Some(word) = words.next() {
        let mut number = || -> Result<f64, Box<dyn std::error::Error>> {
            Ok(words.next().ok_or("a number is missing")?.parse()?)
        };
        match word.as_str() {
            "--features" => rows = true,
            "--skip" => skip_s = number()?,
            "--range" => settings.range_bpm = Some((number()?, number()?)),
            "--given" => settings.given_bpm = Some(number()?),
            file => show(file, skip_s, &settings, rows)?,
        }
    }
    Ok(())
}

fn show(
    file: &str,
    skip_s: f64,
    settings: &TempoSettings,
    rows: bool,
) -> Result<(), Box<dyn std::error::Error>> {
    let (curve, meter_s) = curve(file, skip_s)?;
    let start = Instant::now();
    let grid = find_grid(&curve, settings);
    let grid_s = start.elapsed().as_secs_f64();
    if rows {
        print_features(file, skip_s, &curve);
        return Ok(());
    }
    let show = |value: Option<f64>| value.map_or("null".to_owned(), |x| x.to_string());
    println!(
        "{{\"file\": {file:?}, \"skip\": {skip_s}, \"kind\": \"{:?}\", \"tempo_bpm\": {}, \"beat_offset_s\": {}, \"beats_per_bar\": {}, \"first_downbeat_s\": {}, \"swing\": {}, \"sure_tempo\": {}, \"sure_downbeat\": {}, \"beat_list\": {:?}, \"bar_list\": {:?}, \"meter_s\": {meter_s:.4}, \"grid_s\": {grid_s:.4}}}",
        grid.kind,
        show(grid.tempo_bpm),
        show(grid.beat_offset_s),
        show(grid.beats_per_bar.map(f64::from)),
        show(grid.first_downbeat_s),
        show(grid.swing),
        grid.sure_tempo,
        grid.sure_downbeat,
        grid.beats_s,
        if grid.beats_s.is_empty() {
            Vec::new()
        } else {
            grid.bars_s(curve.seconds())
        },
    );
    Ok(())
}

/// One JSON object: the grid candidates of the file and of the file in even time.
fn print_features(file: &str, skip_s: f64, curve: &OnsetCurve) {
    let list = |values: &[f64]| {
        let words: Vec<String> = values.iter().map(|x| format!("{x:.5}")).collect();
        format!("[{}]", words.join(","))
    };
    let offers = fitting::offers(curve);
    let offers: Vec<String> = offers
        .iter()
        .map(|offer| {
            let quick = offer
                .quick
                .iter()
                .map(|(period_s, offset_s, features)| {
                    format!("[{period_s},{offset_s},{}]", list(features))
                })
                .collect::<Vec<_>>();
            let rows = offer
                .rows
                .iter()
                .map(|row| {
                    let bars: Vec<String> = row.bars.iter().map(|bar| list(bar)).collect();
                    format!(
                        "[{},{},{},{},{},[{}]]",
                        row.period_s,
                        row.offset_s,
                        row.first_s,
                        list(&row.proof),
                        list(&row.beat),
                        bars.join(",")
                    )
                })
                .collect::<Vec<_>>();
            format!(
                "{{\"quick\":[{}],\"rows\":[{}],\"file_s\":{}}}",
                quick.join(","),
                rows.join(","),
                list(&offer.file_s)
            )
        })
        .collect();
    println!(
        "{{\"file\":{file:?},\"skip\":{skip_s},\"offers\":[{}]}}",
        offers.join(",")
    );
}

/// The onsets of a file or a sum, and the seconds the meter took.
fn curve(file: &str, skip_s: f64) -> Result<(OnsetCurve, f64), Box<dyn std::error::Error>> {
    let mut readers = Vec::new();
    let rate_hz = TrackReader::open(Path::new(file.split('|').next().unwrap_or(file)), 48_000, 0)?
        .info()
        .sample_rate_hz;
    for name in file.split('|') {
        let start = -(skip_s * f64::from(rate_hz)) as i64;
        readers.push(TrackReader::open(Path::new(name), rate_hz, start)?);
    }
    let mut meter = OnsetMeter::new(rate_hz, 2);
    let mut meter_s = 0.0;
    let mut block = vec![vec![0.0; BLOCK]; 2];
    loop {
        let mut sum = vec![vec![0.0; BLOCK]; 2];
        let mut longest = 0;
        for reader in &mut readers {
            let (left, right) = block.split_at_mut(1);
            let frames = reader.read(&mut left[0], &mut right[0])?;
            longest = longest.max(frames);
            for (side, channel) in sum.iter_mut().zip(&block) {
                let played = channel[..frames].iter();
                side.iter_mut().zip(played).for_each(|(sum, x)| *sum += x);
            }
        }
        if longest == 0 {
            break;
        }
        let start = Instant::now();
        meter.push(&[&sum[0][..longest], &sum[1][..longest]]);
        meter_s += start.elapsed().as_secs_f64();
    }
    let start = Instant::now();
    let curve = meter.finish();
    Ok((curve, meter_s + start.elapsed().as_secs_f64()))
}
