//! A room that rings too long.

use super::rooms::slow_part;
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "room-long",
    family: Family::Space,
    title: "a room rings too long",
    cause: Cause::Mix,
    sizes: Sizes::both("s", 0.9, 1.2),
    weight: 0.5,
    brings: &["other-room"],
    unsure: true,
    measures: "The time a struck track's room takes to fall by 60 dB, read in the gaps after its \
               hits, where the slow part stands at least 4 dB under the hit.",
    matters: "At dance tempos the next hit comes before a long room is gone: tails pile up, cover \
              the groove and push everything back.",
    threshold: "Look from 0.9, mend from 1.2 s on; 0.4 to 0.5 s is usual for a shared room of \
                drums (common practice, no source). Read within 25 percent from 0.3 to 2 s.",
    mend: "Turn down what you added first: shorten the decay of the reverb, or let it end before \
           the next hit. Then see whether it still needs as much level.",
    wrong: "When the tail is the sound: half-time parts, breaks, a clap that is meant to bloom. A \
            sample with two tails of its own looks like a room.",
    hear: "Solo the track: count how long the tail stays after a hit, and whether the next hit \
           falls into it.",
    train: "Put 0.3, 0.6, 1.2 and 2.4 s on one clap in a full mix, and find the last one at which \
            the groove stays clear.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let beat_s = evidence
        .mix
        .as_ref()
        .and_then(|mix| mix.tempo_bpm)
        .map(|bpm| 60.0 / bpm);
    let tracks = evidence.tracks.iter();
    tracks.filter_map(|track| of_track(track, beat_s)).collect()
}

fn of_track(track: &TrackFacts, beat_s: Option<f64>) -> Option<Finding> {
    let decay = slow_part(track)?;
    let grade = KIND.sizes.grade(decay.seconds)?;
    let beats = beat_s.map_or(String::new(), |beat_s| {
        format!(", {:.1} beats", decay.seconds / beat_s)
    });
    let name = &track.file.name;
    let words = format!(
        "The room of {name} rings for {:.1} s{beats}.",
        decay.seconds
    );
    let fall = |seconds: f64| vec![(0.0, 0.0), (seconds, -60.0)];
    let finding = Finding::new(&KIND, grade, decay.seconds, words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .against(0.5, "seconds of a shared room; common practice, no source")
        .mend("Shorten the decay of its reverb to about half a second.")
        .hear("the tail between two hits")
        .picture(Picture::Curve {
            along: "s".into(),
            unit: "dB".into(),
            points: fall(decay.seconds),
            against: fall(0.5),
            mark: None,
        })
        .sure((1.0 - decay.spread).clamp(0.5, 0.9));
    Some(finding)
}
