//! Mains hum.

use cupel_units::Role;

use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};

/// Limits for looking and mending, dBFS; values are given over the first.
const LOOK_DBFS: f64 = -70.0;
/// What stands out less may be chance or a sound of its own, dB.
const LEAST_ABOVE_DB: f64 = 10.0;

pub(crate) const KIND: Kind = Kind {
    name: "hum",
    family: Family::Files,
    title: "mains hum in the pauses",
    cause: Cause::File,
    sizes: Sizes::both("dB over -70 dBFS", 0.0, 10.0),
    weight: 0.5,
    brings: &[],
    unsure: false,
    measures: "The level of 50 or 60 Hz and its multiples together, in the quietest pauses of a \
               track, where all of them stand at their exact places and never change.",
    matters: "One hum is small; compressors lift it in every pause, several tracks of it add up, \
              and it muddies the very place where kick and bass live.",
    threshold: "Look from -70, mend from -60 dBFS on, with at least three lines of the series \
                (common practice, no source).",
    mend: "Silence the pauses of the recording, or filter the lines with very narrow cuts; \
           better, find the cable or power supply, and record again.",
    wrong: "When a drone on G or B is meant to be there. A bass note near 49 or 61.7 Hz is told \
            apart by its pitch, and dies away.",
    hear: "Solo the track in a pause and turn it up: a steady low tone that does not follow the \
           music.",
    train: "Learn both tones: play 50 and 60 Hz with a few multiples softly under silence, until \
            you know them from the notes G and B.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let hum = track.file.traits.hum?;
    // What lives on low notes is not judged by them.
    let lives_low = matches!(track.role, Some(Role::Bass | Role::Sub | Role::Kick));
    let enough = hum.above_db >= LEAST_ABOVE_DB && hum.harmonics >= 2;
    if lives_low || !enough {
        return None;
    }
    let over_db = hum.level_dbfs - LOOK_DBFS;
    let grade = KIND.sizes.grade(over_db)?;
    let name = &track.file.name;
    let words = format!(
        "{name} hums at {:.0} Hz and its multiples, {:.0} dBFS in its pauses.",
        hum.mains_hz, hum.level_dbfs
    );
    let at_s = track.start_s + hum.at_s;
    let finding = Finding::new(&KIND, grade, over_db, words)
        .on([track.id.clone()])
        .at(vec![(at_s, at_s + 0.7)])
        .in_band((hum.mains_hz - 5.0, 10.0 * hum.mains_hz))
        .against(0.0, "-70 dBFS; common practice, no source")
        .mend("Silence its pauses, or cut the lines narrowly; at best record it again.")
        .hear("a steady low tone in this pause, turned up")
        .picture(Picture::Bars {
            unit: "dBFS".into(),
            rows: vec![PictureRow {
                name: format!("{:.0} Hz and multiples", hum.mains_hz),
                value: hum.level_dbfs,
                meant: true,
            }],
            limit: Some(LOOK_DBFS),
        })
        .sure(if hum.above_db > 20.0 { 0.95 } else { 0.85 });
    Some(finding)
}
