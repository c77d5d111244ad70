//! Files and bounce do not hold the same parts.

use cupel_trust::Cause as Difference;

use super::notes::{joined, track_of};
use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "missing-track",
    family: Family::Files,
    title: "a track is missing from the bounce, or from the files",
    cause: Cause::File,
    sizes: Sizes::mend("", 1.0),
    weight: 1.0,
    brings: &[],
    unsure: false,
    measures: "What all files together, at the faders the bounce shows, leave of the bounce: a \
               file that the bounce does not hold, or sound in the bounce that no file has.",
    matters: "Every advice on levels counts all parts. With one too many or too few it is about \
              another mix.",
    threshold: "A track 40 dB under its file in the bounce; a thirtieth of what is left in places \
                where no file sounds (common practice, no source).",
    mend: "Unmute and export what is missing, or leave out the file that is no part of the mix; \
           then make the bounce again.",
    wrong: "When a part was muted in the bounce on purpose, or its file is an older take.",
    hear: "Play the bounce, then the sum of the tracks at the same loudness, and listen for the \
           part that comes or goes.",
    train: "Have someone mute one part of a busy mix, and name it within four bars.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(trust) = &evidence.trust else {
        return Vec::new();
    };
    let moved = |id: &String| trust.wrong_starts.iter().any(|start| start.id == *id);
    let mut findings = Vec::new();
    for difference in &trust.differences {
        match difference.cause {
            Difference::NotInBounce => {
                let ids: Vec<String> = difference
                    .tracks
                    .iter()
                    .filter(|id| !moved(id))
                    .cloned()
                    .collect();
                findings.extend(not_in_bounce(evidence, &ids));
            }
            Difference::MissingTrack if trust.wrong_starts.is_empty() => {
                findings.push(not_in_files());
            }
            _ => (),
        }
    }
    findings
}

fn not_in_bounce(evidence: &Evidence, ids: &[String]) -> Option<Finding> {
    let tracks: Vec<_> = ids
        .iter()
        .filter_map(|id| track_of(&evidence.tracks, id))
        .collect();
    let names: Vec<&str> = tracks.iter().map(|t| t.file.name.as_str()).collect();
    let (first, verb) = (
        tracks.first()?,
        if tracks.len() == 1 { "is" } else { "are" },
    );
    let words = format!("{} {verb} not in the bounce.", joined(&names));
    let finding = Finding::new(&KIND, Grade::Mend, 1.0, words)
        .on(ids.to_vec())
        .at(first.sounds_s.clone())
        .against(0.0, "the bounce")
        .mend("Unmute it and bounce again, or leave its file out of the session.")
        .hear("the bounce against the sum of the tracks at this place")
        .sure(0.95);
    Some(finding)
}

fn not_in_files() -> Finding {
    let words = "The bounce holds sound that none of the files has: a track is missing.";
    Finding::new(&KIND, Grade::Mend, 1.0, words)
        .against(0.0, "the bounce")
        .mend("Find the muted or forgotten track, export it, and open the session again.")
        .hear("the bounce against the sum of the tracks")
        .in_the_mix()
        .sure(0.85)
}
