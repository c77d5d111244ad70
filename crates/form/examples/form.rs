//! Prints the form of files: `form [--rows STEM] FILE...`, one JSON line a
//! file. Files joined by `|` are summed and are the layers of the sum.
//!
//! `--rows` writes the features the weights are fitted on: STEM.ref.f32 (rows of
//! 32-bit floats, for each end bar the runs that end there, the longest first)
//! and STEM.ref.json; of a sum, STEM.tracks and, without its layers, STEM.mix.

use std::path::Path;
use std::time::Instant;

use cupel_audio::TrackReader;
use cupel_form::{FormInput, find_form, fitting};
use cupel_measure::{LoudnessCurve, LoudnessMeter, Meter, MeterSettings};
use cupel_rhythm::{OnsetMeter, TempoSettings, find_grid};

const BLOCK: usize = 16_384;

type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let mut words = std::env::args().skip(1);
    let mut rows = None;
    while let Some(word) = words.next() {
        if word == "--rows" {
            rows = Some(words.next().ok_or("a stem is missing")?);
        } else {
            show(&word, rows.as_deref())?;
        }
    }
    Ok(())
}

fn show(file: &str, rows: Option<&str>) -> Result<(), Failure> {
    let names: Vec<&str> = file.split('|').collect();
    let first = names.first().ok_or("no file")?;
    let rate_hz = TrackReader::open(Path::new(first), 48_000, 0)?
        .info()
        .sample_rate_hz;
    let mut readers = Vec::new();
    let mut meters = Vec::new();
    for name in &names {
        readers.push(TrackReader::open(Path::new(name), rate_hz, 0)?);
        if names.len() > 1 {
            meters.push(LoudnessMeter::with_weights(rate_hz, &[1.0, 1.0])?);
        }
    }
    let mut onsets = OnsetMeter::new(rate_hz, 2);
    let mut whole = Meter::new(MeterSettings {
        sample_rate_hz: rate_hz,
        channels: 2,
    })?;
    let mut block = vec![vec![0.0; BLOCK]; 2];
    let mut frames_read = 0;
    loop {
        let mut sum = vec![vec![0.0; BLOCK]; 2];
        let mut longest = 0;
        for (index, reader) in readers.iter_mut().enumerate() {
            let (left, right) = block.split_at_mut(1);
            let frames = reader.read(&mut left[0], &mut right[0])?;
            longest = longest.max(frames);
            if let Some(meter) = meters.get_mut(index) {
                meter.push(&[&left[0][..frames], &right[0][..frames]]);
            }
            for (side, channel) in sum.iter_mut().zip(&block) {
                let played = channel[..frames].iter();
                side.iter_mut().zip(played).for_each(|(sum, x)| *sum += x);
            }
        }
        if longest == 0 {
            break;
        }
        frames_read += longest;
        onsets.push(&[&sum[0][..longest], &sum[1][..longest]]);
        whole.push(&[&sum[0][..longest], &sum[1][..longest]]);
    }
    let grid = find_grid(&onsets.finish(), &TempoSettings::default());
    let whole = whole.finish();
    let curves: Vec<LoudnessCurve> = meters.into_iter().map(|m| m.finish().curve).collect();
    let layers: Vec<&LoudnessCurve> = curves.iter().collect();
    let input = FormInput {
        grid: &grid,
        loudness: &whole.curve,
        bands: &whole.bands,
        layers: &layers,
        seconds: frames_read as f64 / f64::from(rate_hz),
    };
    if let Some(stem) = rows {
        if layers.is_empty() {
            return write_rows(&format!("{stem}.ref"), &input);
        }
        write_rows(&format!("{stem}.tracks"), &input)?;
        return write_rows(
            &format!("{stem}.mix"),
            &FormInput {
                layers: &[],
                ..input
            },
        );
    }
    let start = Instant::now();
    let form = find_form(&input);
    let took_s = start.elapsed().as_secs_f64();
    let sections: Vec<String> = form
        .sections
        .iter()
        .map(|s| {
            format!(
                "{{\"name\": \"{}\", \"start_s\": {}, \"end_s\": {}, \"busiest\": {}}}",
                s.name.name(),
                s.start_s,
                s.end_s,
                s.busiest
            )
        })
        .collect();
    let passage = form.passage.map_or("null".to_owned(), |p| {
        format!("{{\"start_s\": {}, \"end_s\": {}}}", p.start_s, p.end_s)
    });
    println!(
        "{{\"file\": {first:?}, \"sure\": {}, \"sections\": [{}], \"passage\": {passage}, \"took_s\": {took_s:.5}}}",
        form.sure,
        sections.join(", ")
    );
    Ok(())
}

fn write_rows(stem: &str, input: &FormInput<'_>) -> Result<(), Failure> {
    let Some(case) = fitting::Case::read(input) else {
        eprintln!("{stem}: no bars");
        return Ok(());
    };
    let mut bytes = Vec::new();
    for to in 1..case.lines_s().len() {
        for from in to.saturating_sub(fitting::LONGEST)..to {
            let (shared, typed) = case.rows(from, to);
            for value in shared.iter().chain(&typed) {
                bytes.extend((*value as f32).to_le_bytes());
            }
        }
    }
    std::fs::write(format!("{stem}.f32"), bytes)?;
    let header = format!(
        "{{\"lines\": {:?}, \"shared\": {}, \"typed\": {}, \"longest\": {}, \"sure_tempo\": {}, \"sure_downbeat\": {}}}",
        case.lines_s(),
        fitting::SHARED,
        fitting::TYPED,
        fitting::LONGEST,
        input.grid.sure_tempo,
        input.grid.sure_downbeat
    );
    std::fs::write(format!("{stem}.json"), header)?;
    Ok(())
}
