//! Sessions of known truth, in memory.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use cupel_audio::{Planar, Reader};
use serde::Deserialize;

use crate::error::XtaskError;

/// What lies below this (RMS, dBFS) in a stretch does not sound there: the absolute gate
/// of ITU-R BS.1770, -70 LUFS, taken without its weighting.
const SOUNDS_DBFS: f64 = -70.0;

#[derive(Deserialize)]
struct Truth {
    sections: Vec<Section>,
    tracks: Vec<TrueTrack>,
}

#[derive(Deserialize)]
struct Section {
    start_s: f64,
    end_s: f64,
    #[serde(default)]
    busiest: bool,
}

#[derive(Deserialize)]
struct TrueTrack {
    file: String,
    role: String,
    #[serde(default)]
    level_offset_db: f64,
    integrated_lufs: Option<f64>,
}

/// One track.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    /// File name without folder and ending.
    pub name: String,
    /// Its role in the data's words; of two with one word each its own.
    pub key: String,
    pub role: String,
    /// Offset of its drawn level, dB.
    pub drawn_db: f64,
    pub lufs: Option<f64>,
    pub sounds: bool,
    pub sides: [Vec<f32>; 2],
}

/// A session.
#[derive(Clone, Debug)]
pub(crate) struct Material {
    pub name: String,
    pub shared: bool,
    pub rate_hz: u32,
    pub parts: Vec<Part>,
}

impl Material {
    pub(crate) fn read(folder: &Path, shared: bool) -> Result<Self, XtaskError> {
        let path = folder.join("truth.json");
        let bytes = fs::read(&path).map_err(XtaskError::file(&path))?;
        let truth: Truth = serde_json::from_slice(&bytes).map_err(|source| XtaskError::Answer {
            program: "truth.json",
            source,
        })?;
        let busiest = truth.sections.iter().find(|section| section.busiest);
        let span_s = busiest.map_or((0.0, f64::INFINITY), |s| (s.start_s, s.end_s));
        let mut rate_hz = 0;
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let mut parts = Vec::new();
        for track in truth.tracks {
            let path = folder.join(&track.file);
            let (rate, sides) = read_all(&path)?;
            rate_hz = rate;
            let count = seen.entry(track.role.clone()).or_default();
            *count += 1;
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            parts.push(Part {
                name: stem.into_owned(),
                key: match *count {
                    1 => track.role.clone(),
                    count => format!("{} {count}", track.role),
                },
                role: track.role,
                drawn_db: track.level_offset_db,
                lufs: track.integrated_lufs,
                sounds: sounds(&sides, rate, span_s),
                sides,
            });
        }
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        Ok(Self {
            name: if shared {
                name.into_owned()
            } else {
                format!("made-{name}")
            },
            shared,
            rate_hz,
            parts,
        })
    }

    /// Loudness of every key beside the kick as it was before anything was drawn, LU.
    pub(crate) fn plain_levels(&self) -> BTreeMap<&str, f64> {
        let plain = |part: &Part| Some(part.lufs? - part.drawn_db);
        let kick = self
            .parts
            .iter()
            .find(|part| part.role == "kick")
            .and_then(plain);
        let levels = self
            .parts
            .iter()
            .filter_map(|part| Some((part.key.as_str(), plain(part)? - kick?)));
        levels.collect()
    }

    /// The sum of all tracks at gains in dB.
    pub(crate) fn sum(&self, gains_db: &[f64]) -> [Vec<f64>; 2] {
        let frames = self.parts.iter().map(|part| part.sides[0].len()).max();
        [0, 1].map(|side| {
            let mut sum = vec![0.0; frames.unwrap_or(0)];
            for (part, gain_db) in self.parts.iter().zip(gains_db) {
                let gain = 10f64.powf(gain_db / 20.0);
                let samples = sum.iter_mut().zip(&part.sides[side]);
                samples.for_each(|(sum, &x)| *sum += gain * f64::from(x));
            }
            sum
        })
    }
}

impl Part {
    /// Whether it sounds, undisturbed, in a stretch; without one, anywhere.
    pub(crate) fn sounds_in(&self, rate_hz: u32, span_s: Option<(f64, f64)>) -> bool {
        sounds(&self.sides, rate_hz, span_s.unwrap_or((0.0, f64::INFINITY)))
    }
}

fn sounds(sides: &[Vec<f32>; 2], rate_hz: u32, span_s: (f64, f64)) -> bool {
    root_mean_square(sides, rate_hz, span_s) > 10f64.powf(SOUNDS_DBFS / 20.0)
}

fn root_mean_square(sides: &[Vec<f32>; 2], rate_hz: u32, (start_s, end_s): (f64, f64)) -> f64 {
    let frames = sides[0].len();
    let at = |time_s: f64| ((time_s * f64::from(rate_hz)).min(frames as f64) as usize).min(frames);
    let span = at(start_s)..at(end_s);
    let count = (2 * span.len()).max(1) as f64;
    let squares: f64 = sides
        .iter()
        .flat_map(|side| &side[span.clone()])
        .map(|&x| f64::from(x) * f64::from(x))
        .sum();
    (squares / count).sqrt()
}

/// A whole file; mono on both sides.
fn read_all(path: &Path) -> Result<(u32, [Vec<f32>; 2]), XtaskError> {
    const BLOCK: usize = 65_536;
    let mut reader = Reader::open(path)?;
    let (channels, rate_hz) = (reader.info().channels, reader.info().sample_rate_hz);
    let mut sides = [Vec::new(), Vec::new()];
    loop {
        let mut block = Planar::new(channels, BLOCK);
        let frames = reader.read(&mut block, BLOCK)?;
        if frames == 0 {
            return Ok((rate_hz, sides));
        }
        for (side, samples) in sides.iter_mut().enumerate() {
            let channel = block.channels.get(side).or(block.channels.first());
            let read = channel.into_iter().flat_map(|channel| &channel[..frames]);
            samples.extend(read.map(|&x| x as f32));
        }
    }
}
