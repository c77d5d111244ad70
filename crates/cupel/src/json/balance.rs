//! `balance --json`.

use cupel_compare::Parts;
use cupel_measure::Summary;
use cupel_session::Move;
use cupel_solve::{
    Audible, BandLeft, Beam, CannotTell, MonoLoss, Offset, Path, Polarity, PrintPlace,
    ReferenceKind, Remains,
};
use cupel_trust::Verdict;
use cupel_work::{Balanced, Problem};
use serde::Serialize;

use crate::json::{TrackGain, VERSION, track_gains};

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    trust: Verdict,
    /// The bars of the session that are compared.
    passage: Option<Span>,
    moves: &'a [Move],
    tracks: Vec<TrackGain<'a>>,
    /// What kind of reference it is: a print of this mix, or another song.
    reference: Option<ReferenceKind>,
    /// Where and how it was read, where it is a print.
    print: Option<PrintPlace>,
    /// How well a print of this mix would agree with it, cell by cell.
    print_spread_db: Option<f64>,
    /// Tracks left as they are because the passage tells nothing about them.
    cannot_tell: Vec<&'a str>,
    cannot_tell_why: &'a [CannotTell],
    /// How far off each level may be.
    spreads: Vec<Spread<'a>>,
    headroom_cut_db: f64,
    before: Side<'a>,
    predicted: Side<'a>,
    bands: &'a [BandLeft],
    /// The distance, move by move, with what each move does.
    path: &'a Path,
    /// What no fader mends.
    remains: &'a [Remains],
    audible: &'a [Audible],
    beams: &'a [Beam],
    polarity: &'a Option<Polarity>,
    /// Whether the bass would help the kick, a little earlier or later.
    offset: &'a Option<Offset>,
    /// What every element loses in mono with the moves that are on.
    mono: &'a [MonoLoss],
    /// Sections that suffer from the moves.
    sections: &'a [String],
    problems: &'a [Problem],
    notes: &'a [String],
}

/// A stretch of time.
#[derive(Debug, Serialize)]
struct Span {
    start_s: f64,
    end_s: f64,
}

/// How far off a level may be.
#[derive(Debug, Serialize)]
struct Spread<'a> {
    track: &'a str,
    spread_db: f64,
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
        let found = &balanced.found;
        Self {
            schema: "cupel/balance",
            version: VERSION,
            trust: assayed.trust.verdict,
            passage: assayed.passages.as_ref().map(|p| Span {
                start_s: p.stretch.start_s,
                end_s: p.stretch.end_s,
            }),
            moves: &balanced.moves,
            tracks: track_gains(assayed),
            reference: found.reference,
            print: found.print,
            print_spread_db: found.print_spread_db,
            cannot_tell: found
                .cannot_tell
                .iter()
                .map(|c| c.track.as_str())
                .filter(|id| !found.spreads.iter().any(|(fitted, _)| fitted == id))
                .collect(),
            cannot_tell_why: &found.cannot_tell,
            spreads: found
                .spreads
                .iter()
                .map(|(track, spread_db)| Spread {
                    track,
                    spread_db: *spread_db,
                })
                .collect(),
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
            bands: &found.bands,
            path: &found.path,
            remains: &found.remains,
            audible: &found.audible,
            beams: &found.beams,
            polarity: &found.polarity,
            offset: &found.offset,
            mono: &balanced.mono,
            sections: &balanced.sections,
            problems: &assayed.surveyed.problems,
            notes: &assayed.surveyed.notes,
        }
    }
}
