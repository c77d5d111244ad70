//! `balance --json`.

use cupel_compare::Parts;
use cupel_measure::Summary;
use cupel_session::Move;
use cupel_solve::BandLeft;
use cupel_trust::Verdict;
use cupel_work::{Balanced, Problem};
use serde::Serialize;

use crate::json::{TrackGain, VERSION, track_gains};

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    trust: Verdict,
    moves: &'a [Move],
    tracks: Vec<TrackGain<'a>>,
    cannot_tell: &'a [String],
    headroom_cut_db: f64,
    before: Side<'a>,
    predicted: Side<'a>,
    bands: &'a [BandLeft],
    problems: &'a [Problem],
    notes: &'a [String],
}

/// The mix before or after the moves.
#[derive(Debug, Serialize)]
pub(crate) struct Side<'a> {
    pub kick_peak_dbfs: Option<f64>,
    pub passage_lufs: Option<f64>,
    pub distance: &'a Option<Parts>,
    #[serde(flatten)]
    pub summary: &'a Summary,
}

impl<'a> Document<'a> {
    pub(crate) fn of(balanced: &'a Balanced) -> Self {
        let assayed = &balanced.assayed;
        let predicted = &balanced.predicted;
        Self {
            schema: "cupel/balance",
            version: VERSION,
            trust: assayed.trust.verdict,
            moves: &balanced.moves,
            tracks: track_gains(assayed),
            cannot_tell: &balanced.cannot_tell,
            headroom_cut_db: balanced.headroom_cut_db,
            before: Side {
                kick_peak_dbfs: assayed.mix.kick_peak_dbfs,
                passage_lufs: assayed
                    .passages
                    .as_ref()
                    .and_then(|p| p.mix.integrated_lufs),
                distance: &assayed.parts,
                summary: &assayed.mix.summary,
            },
            predicted: Side {
                kick_peak_dbfs: predicted.mix.kick_peak_dbfs,
                passage_lufs: predicted.passage.as_ref().and_then(|p| p.integrated_lufs),
                distance: &predicted.parts,
                summary: &predicted.mix.summary,
            },
            bands: &balanced.bands,
            problems: &assayed.surveyed.problems,
            notes: &assayed.surveyed.notes,
        }
    }
}
