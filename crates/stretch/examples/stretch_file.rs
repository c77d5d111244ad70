//! Lays bars of a file on another tempo:
//! `stretch_file IN OUT.wav TEMPO_BPM START_S BARS NEW_TEMPO_BPM SEMITONES`.

use std::path::Path;

use cupel_audio::{Planar, Reader, SampleFormat, WavWriter};
use cupel_stretch::{StretchPlan, stretch};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [input, output, numbers @ ..] = arguments.as_slice() else {
        return Err("two files and five numbers, please".into());
    };
    let numbers: Vec<f64> = numbers
        .iter()
        .map(|n| n.parse())
        .collect::<Result<_, _>>()?;
    let [tempo_bpm, start_s, bars, new_tempo_bpm, semitones] = numbers[..] else {
        return Err("five numbers, please".into());
    };
    let mut reader = Reader::open(Path::new(input))?;
    let rate_hz = reader.info().sample_rate_hz;
    let mut channels: Vec<Vec<f64>> = Vec::new();
    let mut block = Planar::default();
    while reader.read(&mut block, 8192)? > 0 {
        channels.resize(block.channels.len(), Vec::new());
        for (all, new) in channels.iter_mut().zip(&block.channels) {
            all.extend_from_slice(new);
        }
    }
    let anchors = (0..=4 * bars as u32)
        .map(|beat| f64::from(beat) * 60.0)
        .map(|beat| (start_s + beat / tempo_bpm, beat / new_tempo_bpm))
        .collect();
    let plan = StretchPlan {
        anchors,
        semitones,
        onsets_s: Vec::new(),
    };
    let stretched = stretch(&channels, rate_hz, &plan)?;
    let mut writer = WavWriter::create(
        Path::new(output),
        rate_hz,
        stretched.len(),
        SampleFormat::F32,
    )?;
    writer.write(&stretched)?;
    writer.finish()?;
    Ok(())
}
