//! `render --json`.

use cupel_measure::Summary;
use cupel_render::Pair;
use cupel_session::Move;
use cupel_work::{Problem, Rendered};
use serde::Serialize;

use crate::json::balance::Side;
use crate::json::{TrackGain, VERSION, track_gains};
use crate::view::State;

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    premaster: &'static str,
    groups: Vec<Stem<'a>>,
    compare: Option<Compare<'a>>,
    report: &'static str,
    earlier: Option<String>,
    frames: u64,
    moves: &'a [Move],
    tracks: Vec<TrackGain<'a>>,
    before: Side<'a>,
    after: Side<'a>,
    reference: Option<Side<'a>>,
    worse: Vec<String>,
    problems: &'a [Problem],
    notes: &'a [String],
}

#[derive(Debug, Serialize)]
struct Stem<'a> {
    name: &'static str,
    file: String,
    #[serde(flatten)]
    summary: &'a Summary,
}

#[derive(Debug, Serialize)]
struct Compare<'a> {
    mix: &'static str,
    reference: &'static str,
    #[serde(flatten)]
    pair: &'a Pair,
}

impl<'a> Document<'a> {
    pub(crate) fn of(rendered: &'a Rendered, state: &State<'a>) -> Self {
        let assayed = &rendered.assayed;
        let passages = assayed.passages.as_ref();
        Self {
            schema: "cupel/render",
            version: VERSION,
            premaster: "cupel/premaster.wav",
            groups: rendered
                .groups
                .iter()
                .map(|(group, summary)| Stem {
                    name: group.name(),
                    file: format!("cupel/groups/{}.wav", group.name()),
                    summary,
                })
                .collect(),
            compare: rendered.pair.as_ref().map(|pair| Compare {
                mix: "cupel/compare/mix.wav",
                reference: "cupel/compare/reference.wav",
                pair,
            }),
            report: "cupel/report.html",
            earlier: rendered
                .moved_to
                .map(|number| format!("cupel/earlier/{number}")),
            frames: rendered.frames,
            moves: &rendered.moves,
            tracks: track_gains(assayed),
            before: Side {
                kick_peak_dbfs: assayed.mix.kick_peak_dbfs,
                passage_lufs: passages.and_then(|p| p.mix.integrated_lufs),
                distance: &assayed.parts,
                summary: &assayed.mix.summary,
            },
            after: Side {
                kick_peak_dbfs: rendered.after.mix.kick_peak_dbfs,
                passage_lufs: rendered
                    .after
                    .passage
                    .as_ref()
                    .and_then(|p| p.integrated_lufs),
                distance: &rendered.after.parts,
                summary: &rendered.after.mix.summary,
            },
            reference: assayed.surveyed.reference.as_ref().map(|file| Side {
                kick_peak_dbfs: None,
                passage_lufs: passages
                    .and_then(|p| p.reference.as_ref())
                    .and_then(|side| side.summary.integrated_lufs),
                distance: &None,
                summary: &file.measured.summary,
            }),
            worse: state.worse(),
            problems: &assayed.surveyed.problems,
            notes: &rendered.notes,
        }
    }
}
