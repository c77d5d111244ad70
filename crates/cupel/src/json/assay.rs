//! `assay --json`.

use cupel_audio::HealthNote;
use cupel_compare::{BandDifference, Parts};
use cupel_findings::{Finding, Need};
use cupel_layers::Layer;
use cupel_measure::Summary;
use cupel_roles::Element;
use cupel_session::Targets;
use cupel_trust::Trust;
use cupel_work::{Assayed, FileState, Kick, Problem};
use serde::Serialize;

use crate::json::bars::{BarFacts, LayerFacts};
use crate::json::music::MusicFacts;
use crate::json::{TrackName, VERSION};

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    session: Mix<'a>,
    reference: Option<Reference<'a>>,
    trust: &'a Trust,
    /// What is wrong and what is right, by what holds the mix back most.
    findings: &'a [Finding],
    /// What it would take to tell more.
    needs: &'a [Need],
    tracks: Vec<TrackFacts<'a>>,
    /// Tracks of one role that sound together.
    elements: &'a [Element],
    /// Layers of session and reference beside each other.
    layers: Option<LayerFacts<'a>>,
    /// The passages over their bars.
    bar_map: Option<BarFacts<'a>>,
    /// Mix and reference by band, at equal loudness.
    bands: &'a [BandDifference],
    /// The distance in its parts.
    distance: &'a Option<Parts>,
    problems: &'a [Problem],
    notes: &'a [String],
}

/// The sum of the tracks as they came.
#[derive(Debug, Serialize)]
struct Mix<'a> {
    name: Option<&'a str>,
    #[serde(flatten)]
    summary: &'a Summary,
    kick: &'a Option<Kick>,
    kick_peak_dbfs: Option<f64>,
    targets: &'a Targets,
    passage_lufs: Option<f64>,
    #[serde(flatten)]
    music: MusicFacts,
    /// What plays in the passage; `null` without a grid.
    layers: Option<&'a [Layer]>,
}

#[derive(Debug, Serialize)]
struct Reference<'a> {
    file: &'a str,
    #[serde(flatten)]
    summary: &'a Summary,
    health: &'a [HealthNote],
    passage_lufs: Option<f64>,
    #[serde(flatten)]
    music: MusicFacts,
    /// What plays in the passage; `null` without a grid.
    layers: Option<&'a [Layer]>,
}

#[derive(Debug, Serialize)]
struct TrackFacts<'a> {
    #[serde(flatten)]
    name: TrackName<'a>,
    /// How sure the role is, 0 to 1; 1 where a person set it.
    role_sure: f64,
    #[serde(flatten)]
    summary: Option<&'a Summary>,
    health: &'a [HealthNote],
    /// The track in the passage, as exported.
    passage_lufs: Option<f64>,
}

impl<'a> Document<'a> {
    pub(crate) fn of(assayed: &'a Assayed) -> Self {
        let surveyed = &assayed.surveyed;
        let passages = assayed.passages.as_ref();
        Self {
            schema: "cupel/assay",
            version: VERSION,
            session: Mix {
                name: surveyed.session.name.as_deref(),
                summary: &assayed.mix.summary,
                kick: &assayed.kick,
                kick_peak_dbfs: assayed.mix.kick_peak_dbfs,
                targets: &surveyed.session.targets,
                music: MusicFacts::of(&assayed.music).with_passage(passages.map(|p| p.stretch)),
                passage_lufs: passages.and_then(|p| p.mix.integrated_lufs),
                layers: assayed.bars.as_ref().map(|bars| &bars.mix.layers[..]),
            },
            reference: surveyed
                .reference
                .as_ref()
                .map(|file| reference(file, assayed)),
            trust: &assayed.trust,
            findings: &assayed.findings,
            needs: &assayed.needs,
            tracks: tracks(assayed),
            elements: &assayed.elements,
            layers: assayed.bars.as_ref().map(LayerFacts::of),
            bar_map: assayed.bars.as_ref().map(BarFacts::of),
            bands: &assayed.bands,
            distance: &assayed.parts,
            problems: &surveyed.problems,
            notes: &surveyed.notes,
        }
    }
}

fn reference<'a>(file: &'a FileState, assayed: &'a Assayed) -> Reference<'a> {
    let side = assayed.passages.as_ref().and_then(|p| p.reference.as_ref());
    Reference {
        file: &file.file,
        summary: &file.measured.summary,
        health: &file.measured.health,
        music: assayed
            .reference_music
            .as_ref()
            .map(MusicFacts::of)
            .unwrap_or_default()
            .with_passage(side.map(|side| side.stretch)),
        passage_lufs: side.and_then(|side| side.summary.integrated_lufs),
        layers: assayed
            .bars
            .as_ref()
            .and_then(|bars| Some(&bars.reference.as_ref()?.layers[..])),
    }
}

fn tracks(assayed: &Assayed) -> Vec<TrackFacts<'_>> {
    let in_passage = |id: &str| {
        let index = assayed
            .plan
            .tracks
            .iter()
            .position(|track| track.id == id)?;
        assayed
            .passages
            .as_ref()?
            .tracks
            .get(index)?
            .integrated_lufs
    };
    assayed
        .surveyed
        .tracks
        .iter()
        .map(|state| {
            let measured = state.file.as_ref().map(|file| &file.measured);
            TrackFacts {
                name: TrackName::of(&state.track),
                role_sure: state.role_sure,
                summary: measured.map(|m| &m.summary),
                health: measured.map_or(&[][..], |m| &m.health),
                passage_lufs: in_passage(&state.track.id),
            }
        })
        .collect()
}
