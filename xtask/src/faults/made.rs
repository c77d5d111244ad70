//! Clean sessions that are made.

use std::path::Path;
use std::sync::Arc;

use cupel_demo::{DemoSettings, Record, Samples, Session, Truth, make, make_reference};
use serde_json::{Value, json};

use crate::error::XtaskError;
use crate::faults::clean::{Clean, Coding, Track};
use crate::faults::hard;
use crate::faults::plan::Recipe;
use crate::faults::sound::Sound;

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
            made.reference = make_reference(&other)?;
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
