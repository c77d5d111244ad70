//! One side is silent.

use cupel_audio::HealthCode;

use super::notes::note;
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "dead-channel",
    family: Family::Files,
    title: "one side of a stereo file is silent",
    cause: Cause::File,
    sizes: Sizes::mend("", 1.0),
    weight: 0.9,
    brings: &[
        "element-lean",
        "lopsided-pair",
        "mix-lean",
        "core-level",
        "other-level",
    ],
    unsure: false,
    measures: "Whether one channel of a stereo file never rises over -90 dBFS while the other \
               sounds.",
    matters: "The sound hangs on one loudspeaker, is 3 dB or more too soft in mono, and pulls the \
              whole mix to its side.",
    threshold: "Nothing above -90 dBFS on one side (common practice, no source).",
    mend: "Check pan and cables, or the device that lost the side, and export again; a sound that \
           is mono on purpose is best exported as a mono file.",
    wrong: "When the sound is meant to hang wholly on one side.",
    hear: "Solo it on headphones: one ear hears nothing at all.",
    train: "Pan one sound in five steps from left to middle, and learn how the last step, wholly \
            to one side, differs on headphones and on loudspeakers.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    note(&track.file, HealthCode::DeadChannel)?;
    let right = track.file.summary.lean_db? < 0.0;
    let side = if right { "right" } else { "left" };
    let name = &track.file.name;
    let words = format!("The {side} channel of {name} is silent.");
    let finding = Finding::new(&KIND, Grade::Mend, 1.0, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .against(0.0, "a side that sounds")
        .mend("Find where the side is lost and export it again, or export it as mono.")
        .hear("on headphones: one ear hears nothing");
    Some(finding)
}
