//! A clean session in memory.

use std::sync::Arc;

use cupel_demo::DemoSettings;
use serde_json::Value;

use crate::faults::sound::{Sound, gain_to_db};

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

impl Clean {
    /// Turns all tracks as one, so that the kick sits at its anchor, or lower where
    /// there is no room for it.
    pub(crate) fn settle(&mut self) {
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
