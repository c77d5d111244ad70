//! A constant in the samples.

use cupel_units::db_to_amplitude;

use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};

/// The limit, dBFS; values are given as parts of it.
const LIMIT_DBFS: f64 = -60.0;

pub(crate) const KIND: Kind = Kind {
    name: "dc-offset",
    family: Family::Files,
    title: "a constant offset",
    cause: Cause::File,
    sizes: Sizes::mend("thousandths", 1.0),
    weight: 0.3,
    brings: &["edge-click", "cut-tail"],
    unsure: false,
    measures: "How far a track's middle line lies off zero, read where the sound is still, so \
               that lopsided hits do not count.",
    matters: "It takes headroom, clicks wherever the track is cut or muted, and makes \
              compressors and limiters work on something nobody hears.",
    threshold: "Mend from -60 dBFS on, a thousandth of full scale, if it is four standard errors \
                off zero (common practice, no source).",
    mend: "Put a low cut at 20 Hz first on the track, or mend the device that makes the offset, \
           and export again.",
    wrong: "When a very slow movement below hearing is part of the sound.",
    hear: "You do not hear it as such. Mute and unmute the track in a pause: it clicks.",
    train: "Look at a wave in its pauses, zoomed in: its line should lie on zero.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let offset_dbfs = track.file.traits.offset_dbfs?;
    let thousandths = 1000.0 * db_to_amplitude(offset_dbfs);
    let grade = KIND.sizes.grade(thousandths)?;
    let name = &track.file.name;
    let words = format!("{name} lies off zero by a constant of {offset_dbfs:.0} dBFS.");
    let finding = Finding::new(&KIND, grade, thousandths, words)
        .on([track.id.clone()])
        .against(1.0, "-60 dBFS; common practice, no source")
        .mend("Put a low cut at 20 Hz on it, or export it again without the offset.")
        .hear("mute and unmute it in a pause: a click")
        .picture(Picture::Bars {
            unit: "dBFS".into(),
            rows: vec![PictureRow {
                name: name.clone(),
                value: offset_dbfs,
                meant: true,
            }],
            limit: Some(LIMIT_DBFS),
        })
        .sure(0.95);
    Some(finding)
}
