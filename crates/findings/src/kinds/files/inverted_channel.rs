//! One side is upside down.

use cupel_audio::HealthCode;
use cupel_units::read_db;

use super::notes::note;
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Sides};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

/// A sound of two like sides, one of them turned over, comes this low; a wide one
/// does not.
const CORRELATION: f64 = -0.5;
/// Its sides stand over its middle by this, dB.
const WIDTH_DB: f64 = 4.0;

pub(crate) const KIND: Kind = Kind {
    name: "inverted-channel",
    family: Family::Files,
    title: "one side is upside down",
    cause: Cause::File,
    sizes: Sizes::mend("", 1.0),
    weight: 0.9,
    brings: &[
        "negative-correlation",
        "mono-loss",
        "mono-loss-band",
        "width-band",
        "wide-lows",
        "core-level",
        "other-level",
    ],
    unsure: false,
    measures: "Whether right is the negative of left, exactly, or so nearly that both sides pull \
               against each other over the whole file: correlation under -0.5, and 4 dB more side \
               than middle.",
    matters: "In mono, on phones and on many club systems the sound all but vanishes, and in \
              stereo it has no place.",
    threshold: "A correlation under -0.5 over the whole file (common practice, no source).",
    mend: "Flip the polarity of one side, or take off the device that widens it so, and export \
           again.",
    wrong: "When a widening effect is meant to sound like that, and the sound may vanish in mono.",
    hear: "Solo it and fold the mix to mono: it all but goes away.",
    train: "Flip one side of a mono sound and listen from the middle: it seems to come from \
            inside your head, or from nowhere.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let summary = &track.file.summary;
    let exactly = note(&track.file, HealthCode::InvertedChannels).is_some();
    let correlation = summary.correlation?;
    let wide = summary.width_db.is_some_and(|width| width >= WIDTH_DB);
    let nearly = correlation <= CORRELATION && wide;
    if !(exactly || nearly) {
        return None;
    }
    let name = &track.file.name;
    let lost = match summary.mono_loss_lu {
        Some(loss) => format!(": in mono it loses {}", read_db(Some(-loss))),
        None => String::new(),
    };
    let words = format!("One side of {name} is upside down{lost}.");
    let finding = Finding::new(&KIND, Grade::Mend, 1.0, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .against(CORRELATION, "correlation; common practice, no source")
        .mend("Flip the polarity of one side, and export again.")
        .hear("fold it to mono: it all but goes away")
        .sides(Sides::Mono)
        .sure(if exactly { 1.0 } else { 0.85 });
    Some(finding)
}
