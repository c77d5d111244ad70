//! Clean sessions in folders.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use cupel_audio::{Planar, Reader, SampleFormat, WavWriter};
use serde_json::{Value, json};

use crate::error::XtaskError;
use crate::faults::clean::{Clean, Coding, Track};
use crate::faults::sound::Sound;
use crate::prove::session::truth_of;
use crate::prove::truth::TrueSession;

/// What both formats of truth have in common.
struct Music {
    tempo_bpm: f64,
    reference_tempo_bpm: f64,
    kick_times_s: Vec<f64>,
    sections: Vec<(String, f64, f64)>,
    busiest_s: (f64, f64),
}

impl Clean {
    /// Reads a session of the shared format.
    pub(crate) fn read(folder: &Path, shared: bool) -> Result<Self, XtaskError> {
        let truth = truth_of(folder)?;
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        let mut rate_hz = 0;
        let mut tracks = Vec::new();
        for track in &truth.tracks {
            let path = folder.join(&track.file);
            let (rate, sound) = read(&path)?;
            rate_hz = rate;
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            tracks.push(Track {
                name: stem.into_owned(),
                word: track.role.clone(),
                sound: Arc::new(sound),
            });
        }
        let music = music_of(&truth);
        let path = folder.join("bounce.wav");
        let bounce = match path.is_file() {
            true => Some(Arc::new(read(&path)?.1)),
            false => None,
        };
        let (reference_rate_hz, reference) = match &truth.reference {
            Some(reference) => read(&folder.join(&reference.file))?,
            None => (rate_hz, Sound::default()),
        };
        let mut clean = Self {
            name: name.into_owned(),
            rate_hz,
            tracks,
            reference: Arc::new(reference),
            reference_rate_hz,
            coding: Coding::Plain,
            bounce,
            tempo_bpm: music.tempo_bpm,
            reference_tempo_bpm: music.reference_tempo_bpm,
            kick_times_s: music.kick_times_s,
            busiest_s: music.busiest_s,
            sections: music.sections,
            reference_kick: None,
            settings: None,
            truth: Value::Null,
        };
        if shared {
            clean.settle();
        }
        Ok(clean)
    }

    /// Writes all files into a folder that is there.
    pub(crate) fn write(&self, folder: &Path) -> Result<(), XtaskError> {
        let tracks = folder.join("tracks");
        fs::create_dir_all(&tracks).map_err(XtaskError::file(&tracks))?;
        for track in &self.tracks {
            let path = tracks.join(format!("{}.wav", track.name));
            write(&path, self.rate_hz, &track.sound)?;
        }
        write(
            &folder.join("reference.wav"),
            self.reference_rate_hz,
            &self.reference,
        )?;
        if let Some(bounce) = &self.bounce {
            write(&folder.join("bounce.wav"), self.rate_hz, bounce)?;
        }
        let path = folder.join("truth.json");
        let mut truth = self.truth.clone();
        let files = self.tracks.iter().map(
            |track| json!({ "file": format!("tracks/{}.wav", track.name), "role": track.word }),
        );
        truth["tracks"] = files.collect();
        fs::write(&path, format!("{truth:#}\n")).map_err(XtaskError::file(&path))
    }
}

fn music_of(truth: &TrueSession) -> Music {
    let sections = &truth.music.sections;
    let busiest = sections.iter().find(|section| section.busiest);
    Music {
        tempo_bpm: truth.music.tempo_bpm,
        reference_tempo_bpm: truth
            .reference
            .as_ref()
            .map_or(truth.music.tempo_bpm, |r| r.music.tempo_bpm),
        kick_times_s: truth.music.kick_times_s.clone(),
        busiest_s: busiest.map_or((0.0, f64::INFINITY), |s| (s.start_s, s.end_s)),
        sections: sections
            .iter()
            .map(|section| (section.name.clone(), section.start_s, section.end_s))
            .collect(),
    }
}

/// Float; one channel where both sides are the same.
pub(crate) fn write(path: &Path, rate_hz: u32, sound: &Sound) -> Result<(), XtaskError> {
    const BLOCK: usize = 65_536;
    let channels = if sound.is_mono() { 1 } else { 2 };
    let mut writer = WavWriter::create(path, rate_hz, channels, SampleFormat::F32)?;
    for from in (0..sound.frames()).step_by(BLOCK) {
        let to = (from + BLOCK).min(sound.frames());
        let wide =
            |side: &[f32]| -> Vec<f64> { side[from..to].iter().map(|&x| f64::from(x)).collect() };
        let sides = [wide(&sound.left), wide(&sound.right)];
        writer.write(&sides[..channels])?;
    }
    writer.finish()?;
    Ok(())
}

/// A whole file; mono on both sides.
pub(crate) fn read(path: &Path) -> Result<(u32, Sound), XtaskError> {
    const BLOCK: usize = 65_536;
    let mut reader = Reader::open(path)?;
    let (channels, rate_hz) = (reader.info().channels, reader.info().sample_rate_hz);
    let mut sound = Sound::default();
    loop {
        let mut block = Planar::new(channels, BLOCK);
        let frames = reader.read(&mut block, BLOCK)?;
        if frames == 0 {
            return Ok((rate_hz, sound));
        }
        for (side, samples) in [&mut sound.left, &mut sound.right].into_iter().enumerate() {
            let channel = block.channels.get(side).or(block.channels.first());
            let read = channel.into_iter().flat_map(|channel| &channel[..frames]);
            samples.extend(read.map(|&x| x as f32));
        }
    }
}
