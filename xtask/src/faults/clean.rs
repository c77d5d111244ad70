//! A clean session in memory.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use cupel_audio::{Planar, Reader, SampleFormat, WavWriter};
use cupel_demo::{DemoSettings, Record, Samples, Session, Truth, make};
use serde_json::{Value, json};

use crate::error::XtaskError;
use crate::faults::hard;
use crate::faults::plan::Recipe;
use crate::faults::sound::{Sound, gain_to_db};
use crate::prove::session::truth_of;

/// Where a session puts its kick and its highest peak, if nobody asks otherwise.
const KICK_PEAK_DBFS: f64 = -12.0;
const HIGHEST_PEAK_DBFS: f64 = -3.2;

/// One track.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    /// File name without ending.
    pub name: String,
    /// Its role in the data's words.
    pub word: String,
    pub sound: Arc<Sound>,
}

/// How the reference is written.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Coding {
    Plain,
    /// Coded with loss.
    Lossy,
    /// Tagged with a year.
    Tagged(i32),
}

/// A session without faults.
#[derive(Clone, Debug)]
pub(crate) struct Clean {
    pub name: String,
    pub rate_hz: u32,
    pub tracks: Vec<Track>,
    pub reference: Arc<Sound>,
    pub reference_rate_hz: u32,
    pub coding: Coding,
    /// What lies beside the tracks, where something does.
    pub bounce: Option<Arc<Sound>>,
    pub tempo_bpm: f64,
    pub reference_tempo_bpm: f64,
    pub kick_times_s: Vec<f64>,
    /// The busiest section.
    pub busiest_s: (f64, f64),
    /// When each section begins and ends, and its name.
    pub sections: Vec<(String, f64, f64)>,
    /// Rest pitch and length of the reference's kick as it was heard, Hz and ms.
    pub reference_kick: Option<(f64, f64)>,
    /// How it was made, where it was.
    pub settings: Option<DemoSettings>,
    /// What `truth.json` will say.
    pub truth: Value,
}

/// What both formats of truth have in common.
struct Music {
    tempo_bpm: f64,
    reference_tempo_bpm: f64,
    kick_times_s: Vec<f64>,
    sections: Vec<(String, f64, f64)>,
    busiest_s: (f64, f64),
}

impl Clean {
    /// What a recipe asks for; kept in a folder, if there is one.
    pub(crate) fn kept(recipe: &Recipe, folder: Option<&Path>) -> Result<Self, XtaskError> {
        let Some(folder) = folder else {
            return Self::make(recipe);
        };
        let place = folder.join(recipe.name());
        if place.join("truth.json").is_file() {
            let mut clean = Self::read(&place, false)?;
            clean.settings = Some(recipe.settings());
            return Ok(clean);
        }
        let clean = Self::make(recipe)?;
        clean.write(&place)?;
        Ok(clean)
    }

    /// Makes what a recipe asks for.
    pub(crate) fn make(recipe: &Recipe) -> Result<Self, XtaskError> {
        let settings = recipe.settings();
        let mut made = make(&settings)?;
        if recipe.other_balance {
            // the same other song, its elements at levels drawn apart from ours
            let other = DemoSettings {
                balance_spread_db: 3.0,
                ..settings.clone()
            };
            made.reference = make(&other)?.reference;
        }
        let mut clean = Self::of(recipe, &made);
        clean.settings = Some(settings);
        hard::apply(&mut clean, recipe.hard, recipe.seed);
        clean.settle();
        if recipe.bounce {
            clean.bounce = Some(Arc::new(clean.sum()));
        }
        Ok(clean)
    }

    fn of(recipe: &Recipe, made: &Session) -> Self {
        let truth = &made.truth;
        let sections: Vec<(String, f64, f64)> = truth
            .sections
            .iter()
            .map(|section| (section.name.clone(), section.start_s, section.end_s))
            .collect();
        let busiest = truth.sections.iter().find(|section| section.busiest);
        Self {
            name: recipe.name(),
            rate_hz: truth.sample_rate_hz,
            tracks: made
                .tracks
                .iter()
                .map(|track| Track {
                    name: Path::new(&track.file)
                        .file_stem()
                        .map_or(String::new(), |stem| stem.to_string_lossy().into_owned()),
                    word: track.role.word().to_owned(),
                    sound: Arc::new(unpacked(&track.samples)),
                })
                .collect(),
            reference: Arc::new(record(&made.reference)),
            reference_rate_hz: made.reference.sample_rate_hz,
            coding: Coding::Plain,
            bounce: None,
            tempo_bpm: truth.tempo_bpm,
            reference_tempo_bpm: truth.reference.tempo_bpm,
            kick_times_s: truth.kick_times_s.clone(),
            busiest_s: busiest.map_or((0.0, f64::INFINITY), |s| (s.start_s, s.end_s)),
            sections,
            reference_kick: None,
            settings: None,
            truth: truth_kept(truth, recipe),
        }
    }

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

    /// Turns all tracks as one, so that the kick sits at its anchor, or lower where
    /// there is no room for it.
    fn settle(&mut self) {
        let kicks = self.tracks.iter().filter(|track| track.word == "kick");
        let kick = kicks.fold(0.0f64, |peak, track| peak.max(track.sound.peak()));
        let to_kick_db = KICK_PEAK_DBFS - gain_to_db(kick);
        let to_peak_db = HIGHEST_PEAK_DBFS - gain_to_db(self.sum().peak());
        let gain_db = match kick > 0.0 {
            true => to_kick_db.min(to_peak_db),
            false => to_peak_db,
        };
        for track in &mut self.tracks {
            track.sound = Arc::new(track.sound.gained(gain_db));
        }
    }

    /// The sum of all tracks.
    pub(crate) fn sum(&self) -> Sound {
        sum_of(self.tracks.iter().map(|track| &*track.sound))
    }

    /// Places of tracks with one of these words.
    pub(crate) fn with_words(&self, words: &[&str]) -> Vec<usize> {
        (0..self.tracks.len())
            .filter(|&place| words.contains(&self.tracks[place].word.as_str()))
            .collect()
    }

    /// The same, but only those heard in the busiest section: within 40 dB of the mix.
    pub(crate) fn sounding(&self, words: &[&str]) -> Vec<usize> {
        let least = 1e-4 * self.sum_power();
        let mut found = self.with_words(words);
        found.retain(|&place| self.tracks[place].sound.power_in(self.busiest()) > least);
        found
    }

    /// Mean square of all tracks in the busiest section, as if they had nothing in
    /// common.
    pub(crate) fn sum_power(&self) -> f64 {
        let powers = self.tracks.iter();
        powers
            .map(|track| track.sound.power_in(self.busiest()))
            .sum()
    }

    /// Another sound on a track; the bounce has it, too.
    pub(crate) fn replace(&mut self, place: usize, sound: Sound) {
        let old = std::mem::replace(&mut self.tracks[place].sound, Arc::new(sound));
        if let Some(bounce) = &self.bounce {
            let without = bounce.plus(&old, -1.0);
            self.bounce = Some(Arc::new(without.plus(&self.tracks[place].sound, 1.0)));
        }
    }

    /// Another sound in a file; the bounce stays as it was.
    pub(crate) fn replace_file(&mut self, place: usize, sound: Sound) {
        self.tracks[place].sound = Arc::new(sound);
    }

    /// One more track; gives its place. The bounce has it, too, if asked.
    pub(crate) fn add(&mut self, name: &str, word: &str, sound: Sound, bounced: bool) -> usize {
        if let Some(bounce) = self.bounce.as_ref().filter(|_| bounced) {
            self.bounce = Some(Arc::new(bounce.plus(&sound, 1.0)));
        }
        self.tracks.push(Track {
            name: name.to_owned(),
            word: word.to_owned(),
            sound: Arc::new(sound),
        });
        self.tracks.len() - 1
    }

    /// Changes all tracks.
    pub(crate) fn change_all(&mut self, change: impl Fn(&Track) -> Sound) {
        for track in &mut self.tracks {
            track.sound = Arc::new(change(track));
        }
        if self.bounce.is_some() {
            self.bounce = Some(Arc::new(self.sum()));
        }
    }

    /// Frames of the busiest section.
    pub(crate) fn busiest(&self) -> std::ops::Range<usize> {
        let at = |seconds: f64| (seconds.min(1e5) * f64::from(self.rate_hz)) as usize;
        at(self.busiest_s.0)..at(self.busiest_s.1)
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

/// What stays true of a session that was made, in the shared format.
fn truth_kept(truth: &Truth, recipe: &Recipe) -> Value {
    let mut kept = serde_json::to_value(truth).unwrap_or_default();
    if let Some(fields) = kept.as_object_mut() {
        for gone in ["bars", "balance", "mix", "bounce", "faults", "tracks"] {
            fields.remove(gone);
        }
        fields.insert("hard".into(), json!(recipe.hard.map(hard::Hard::words)));
        fields.insert("other_balance".into(), json!(recipe.other_balance));
    }
    kept
}

pub(crate) fn sum_of<'a>(sounds: impl Iterator<Item = &'a Sound>) -> Sound {
    let mut left: Vec<f64> = Vec::new();
    let mut right: Vec<f64> = Vec::new();
    for sound in sounds {
        for (sum, side) in [(&mut left, &sound.left), (&mut right, &sound.right)] {
            sum.resize(sum.len().max(side.len()), 0.0);
            sum.iter_mut()
                .zip(side)
                .for_each(|(sum, &x)| *sum += f64::from(x));
        }
    }
    let narrow = |side: Vec<f64>| side.into_iter().map(|x| x as f32).collect();
    Sound::new(narrow(left), narrow(right))
}

fn music_of(truth: &crate::prove::truth::TrueSession) -> Music {
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

pub(crate) fn unpacked(samples: &Samples) -> Sound {
    let side = |channel: usize| {
        let mut all = vec![0.0; samples.frames()];
        samples.read(channel, 0, &mut all);
        all.into_iter().map(|x| x as f32).collect()
    };
    Sound::new(side(0), side(1))
}

fn record(record: &Record) -> Sound {
    let side = |n: usize| record.samples[n].iter().map(|&x| x as f32).collect();
    Sound::new(side(0), side(1))
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
