//! A track that stands in another room than the rest.

use super::rooms::{is_struck, slow_part};
use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};

/// Shorter decays are the sounds' own, and those of a struck sound that lasts as long as
/// the longest are its own tail, seconds.
const ROOMS_S: std::ops::Range<f64> = 0.25..1.5;

pub(crate) const KIND: Kind = Kind {
    name: "other-room",
    family: Family::Space,
    title: "a track stands in another room",
    cause: Cause::Mix,
    sizes: Sizes::both("times", 2.0, 3.0),
    weight: 0.4,
    brings: &[],
    unsure: true,
    measures: "The decay of a struck track's room against the shortest of those of the other \
               struck tracks: a tail of their own makes the others longer, and nothing makes \
               them shorter than the room they share.",
    matters: "Sounds in one room belong together. One in a much longer room falls out of the \
              picture, as if it came from another record.",
    threshold: "Look at twice, mend at three times the decay of the others, which counts from \
                0.25 to 1.5 s (common practice, no source).",
    mend: "Send the track to the reverb that the others use, at its own level, and take its own \
           reverb off.",
    wrong: "When the contrast is meant: a far clap against dry drums. Samples that bring long \
            tails of their own look alike.",
    hear: "Solo the drums: one of them goes on sounding where the others have stopped.",
    train: "Put two reverbs of 0.4 and 1.6 s on clap and snare in turn, and learn to hear which \
            one is in the other room.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let struck = |place: &usize| is_struck(&evidence.tracks[*place]);
    let places: Vec<usize> = (0..evidence.tracks.len()).filter(struck).collect();
    let of = |&place: &usize| of_track(evidence, &places, place);
    places.iter().filter_map(of).collect()
}

fn of_track(evidence: &Evidence, places: &[usize], place: usize) -> Option<Finding> {
    let track = &evidence.tracks[place];
    let seconds = slow_part(track)?.seconds;
    let others = places
        .iter()
        .filter(|other| **other != place)
        .filter_map(|&other| evidence.tracks[other].file.traits.decay.as_ref())
        .map(|decay| decay.seconds)
        .filter(|seconds| ROOMS_S.contains(seconds));
    let shared_s = others.reduce(f64::min)?;
    let grade = KIND.sizes.grade(seconds / shared_s)?;
    let name = &track.file.name;
    let words = format!(
        "The room of {name} rings for {seconds:.1} s, those of the other drums for {shared_s:.1} s."
    );
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.to_owned(),
        value,
        meant,
    };
    let finding = Finding::new(&KIND, grade, seconds / shared_s, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .against(1.0, "the decay of the other drums")
        .mend("Take its own reverb off, and send it to the one that the others use.")
        .hear("the drums alone: one sounds on where the others have stopped")
        .picture(Picture::Bars {
            unit: "s".into(),
            rows: vec![
                row(name, seconds, true),
                row("other drums", shared_s, false),
            ],
            limit: None,
        })
        .sure(0.7);
    Some(finding)
}
