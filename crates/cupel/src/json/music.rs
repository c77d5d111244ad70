//! What the documents say of the music of a file, a session or a reference.

use cupel_compare::Stretch;
use cupel_harmony::{KeyCandidate, KickPlace, KickSound, Note};
use cupel_rhythm::GridKind;
use cupel_work::Musical;
use serde::Serialize;

/// Musical time, key and form; `null` where it cannot be told.
#[derive(Debug, Default, Serialize)]
pub(crate) struct MusicFacts {
    tempo_bpm: Option<f64>,
    beat_offset_s: Option<f64>,
    beats_per_bar: Option<u32>,
    first_downbeat_s: Option<f64>,
    swing: Option<f64>,
    /// As `D minor`.
    key: Option<String>,
    tuning_cents: Option<f64>,
    sections: Option<Vec<Section>>,
    passage: Option<Stretch>,
    sure: Sure,
    /// `steady`, `drifting` or `cannot-tell`.
    grid: Option<GridKind>,
    /// Every beat, where they drift.
    beats_s: Option<Vec<f64>>,
    key_candidates: Vec<Candidate>,
    bass: Vec<Note>,
    kick_sound: Option<KickSound>,
    kick_place: Option<KickPlace>,
}

/// From 0 to 1; 0.9 and more is sure.
#[derive(Debug, Default, Serialize)]
struct Sure {
    tempo: f64,
    downbeat: f64,
    key: f64,
    sections: f64,
}

#[derive(Debug, Serialize)]
struct Section {
    name: &'static str,
    start_s: f64,
    end_s: f64,
    busiest: bool,
}

#[derive(Debug, Serialize)]
struct Candidate {
    key: String,
    score: f64,
}

impl MusicFacts {
    pub(crate) fn of(music: &Musical) -> Self {
        let grid = &music.grid;
        let sections: Vec<Section> = music.form.sections.iter().map(section).collect();
        let passage = music.form.passage.map(|passage| Stretch {
            start_s: passage.start_s,
            end_s: passage.end_s,
        });
        Self {
            tempo_bpm: grid.tempo_bpm,
            beat_offset_s: grid.beat_offset_s,
            beats_per_bar: grid.beats_per_bar,
            first_downbeat_s: grid.first_downbeat_s,
            swing: grid.swing,
            key: music.key.key.map(|key| key.to_string()),
            tuning_cents: music.key.tuning_cents,
            sections: (!sections.is_empty()).then_some(sections),
            passage,
            sure: Sure {
                tempo: grid.sure_tempo,
                downbeat: grid.sure_downbeat,
                key: music.key.sure,
                sections: music.form.sure,
            },
            grid: Some(grid.kind),
            beats_s: (grid.kind == GridKind::Drifting).then(|| grid.beats_s.clone()),
            key_candidates: music.key.candidates.iter().map(candidate).collect(),
            bass: music.bass.clone(),
            kick_sound: music.kick.clone(),
            kick_place: music.kick_place.clone(),
        }
    }

    /// The same with the passage that is compared.
    pub(crate) fn with_passage(mut self, passage: Option<Stretch>) -> Self {
        self.passage = passage;
        self
    }
}

fn section(section: &cupel_form::Section) -> Section {
    Section {
        name: section.name.name(),
        start_s: section.start_s,
        end_s: section.end_s,
        busiest: section.busiest,
    }
}

fn candidate(candidate: &KeyCandidate) -> Candidate {
    Candidate {
        key: candidate.key.to_string(),
        score: candidate.score,
    }
}
