//! A sound that is cut off at the end of its file.

use cupel_audio::HealthCode;

use super::notes::{around, note};
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "cut-tail",
    family: Family::Files,
    title: "a file ends while it still sounds",
    cause: Cause::File,
    sizes: Sizes::look("", 1.0),
    weight: 0.4,
    brings: &["edge-click"],
    unsure: false,
    measures: "The level of the last hundredth of a second of a track against its loudest, and \
               whether it was fading.",
    matters: "An export range that ends too early cuts reverb, delay and release; nothing in a \
              mix brings them back.",
    threshold: "Look where the end is over -50 dBFS, or within 30 dB of the loudest, without a \
                fade (common practice, no source).",
    mend: "Export again with a range that ends after the last tail has died away.",
    wrong: "When the sound is a loop, or its end is cut on purpose.",
    hear: "Solo it and listen to its last second: the sound stops as if a plug were pulled.",
    train: "Cut the end of a reverb at -20, -40 and -60 dB and learn up to where you notice it \
            with the rest of the mix playing.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let note = note(&track.file, HealthCode::TailCutOff)?;
    let level_dbfs = note.value?;
    let name = &track.file.name;
    let words = format!("{name} still sounds at {level_dbfs:.0} dBFS where its file ends.");
    let seconds = track.file.summary.seconds;
    let span_s = around(track, seconds, 2.0, 0.5);
    let finding = Finding::new(&KIND, Grade::Look, 1.0, words)
        .on([track.id.clone()])
        .at(vec![span_s])
        .against(-50.0, "dBFS at the end; common practice, no source")
        .mend("Export it again with a range that ends after its tail.")
        .hear("its last second: it stops instead of dying away")
        .picture(Picture::Places {
            seconds: track.start_s + seconds,
            spans_s: vec![span_s],
        })
        .sure(0.8);
    Some(finding)
}
