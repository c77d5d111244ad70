//! `loop --json`.

use cupel_measure::Summary;
use cupel_work::{Beats, Looped, Problem};
use serde::Serialize;

use crate::json::VERSION;

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    session: Side,
    reference: Side,
    tempo_change: f64,
    beyond_promise: bool,
    times: f64,
    transposed_semitones: f64,
    gain_db: f64,
    problems: &'a [Problem],
    notes: &'a [String],
}

/// One of the two files; times are those of the source.
#[derive(Debug, Serialize)]
struct Side {
    file: &'static str,
    start_s: f64,
    end_s: f64,
    tempo_bpm: f64,
    bars: usize,
    beats_per_bar: u32,
    seconds: f64,
    integrated_lufs: Option<f64>,
    true_peak_dbtp: Option<f64>,
}

impl Side {
    fn of(file: &'static str, beats: &Beats, summary: &Summary) -> Self {
        Self {
            file,
            start_s: beats.start_s(),
            end_s: beats.end_s(),
            tempo_bpm: beats.tempo_bpm(),
            bars: beats.bars(),
            beats_per_bar: beats.beats_per_bar,
            seconds: summary.seconds,
            integrated_lufs: summary.integrated_lufs,
            true_peak_dbtp: summary.true_peak_dbtp,
        }
    }
}

impl<'a> Document<'a> {
    pub(crate) fn of(looped: &'a Looped) -> Self {
        let session = "cupel/loop/session.wav";
        let reference = "cupel/loop/reference.wav";
        Self {
            schema: "cupel/loop",
            version: VERSION,
            session: Side::of(session, &looped.session, &looped.session_measures),
            reference: Side::of(reference, &looped.reference, &looped.loop_measures),
            tempo_change: looped.tempo_change,
            beyond_promise: looped.beyond,
            times: looped.times,
            transposed_semitones: looped.semitones,
            gain_db: looped.gain_db,
            problems: &looped.assayed.surveyed.problems,
            notes: &looped.notes,
        }
    }
}
