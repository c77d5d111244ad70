//! A file that lies beside its place.

use cupel_trust::WrongStart;

use super::notes::{joined, track_of};
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "wrong-start",
    family: Family::Files,
    title: "a file starts at the wrong time",
    cause: Cause::File,
    sizes: Sizes::mend("ms", 2.0),
    weight: 0.8,
    brings: &[
        "kick-bass-cancel",
        "core-level",
        "other-level",
        "missing-track",
    ],
    unsure: false,
    measures: "For each track that the bounce does not hold as its file has it: the shift within \
               50 ms at which the file explains what all other tracks leave of the bounce; and \
               starts found for files that were trimmed to their first clip.",
    matters: "A few milliseconds make a hit drag or rush, and two sounds that belong together \
              cancel in part. No level mends that.",
    threshold: "Mend from 2 ms on, about where the ear begins to tell two onsets apart (common \
                practice, no source).",
    mend: "Export all tracks again in one go from the common start, with the delay of the \
           devices made up for; or move the file by the figure.",
    wrong: "When the bounce itself was made with other timing, for example before a shift that \
            was meant.",
    hear: "Solo the track with the kick: its hits flam against those that should be together.",
    train: "Delay a clap against a snare by 2, 5, 10 and 20 ms and learn from which one on you \
            hear two hits.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(trust) = &evidence.trust else {
        return Vec::new();
    };
    let shifted = trust.wrong_starts.iter();
    let mut findings: Vec<Finding> = shifted
        .filter_map(|start| of_shift(evidence, start))
        .collect();
    findings.extend(trimmed(evidence));
    findings
}

fn of_shift(evidence: &Evidence, start: &WrongStart) -> Option<Finding> {
    let track = track_of(&evidence.tracks, &start.id)?;
    let ms = 1000.0 * start.late_s;
    let grade = KIND.sizes.grade(ms.abs())?;
    let name = &track.file.name;
    let (way, mend) = if ms > 0.0 {
        ("late", "earlier")
    } else {
        ("early", "later")
    };
    let words = format!("{name} plays {:.1} ms {way} beside the bounce.", ms.abs());
    let finding = Finding::new(&KIND, grade, ms.abs(), words)
        .on([track.id.clone()])
        .at(track.sounds_s.clone())
        .against(0.0, "its place in the bounce")
        .mend(format!(
            "Move it {:.1} ms {mend}, or export all tracks again in one go.",
            ms.abs()
        ))
        .hear("its hits against the kick: they flam")
        .picture(Picture::Bars {
            unit: "ms".into(),
            rows: vec![PictureRow {
                name: name.clone(),
                value: ms,
                meant: true,
            }],
            limit: KIND.sizes.mend.map(|limit| limit.copysign(ms)),
        })
        .sure(0.8 + 0.2 * start.explained.clamp(0.0, 1.0));
    Some(finding)
}

/// Files trimmed to their first clip: they are placed already, so nothing plays wrong.
fn trimmed(evidence: &Evidence) -> Option<Finding> {
    let starts = evidence.trust.iter().flat_map(|trust| &trust.starts);
    let tracks: Vec<(&TrackFacts, f64)> = starts
        .filter_map(|start| Some((track_of(&evidence.tracks, &start.id)?, start.start_s)))
        .collect();
    let latest_s = tracks
        .iter()
        .map(|(_, start_s)| *start_s)
        .reduce(f64::max)?;
    let names: Vec<&str> = tracks
        .iter()
        .map(|(track, _)| track.file.name.as_str())
        .collect();
    let verb = if tracks.len() == 1 { "begins" } else { "begin" };
    let words = format!(
        "{} {verb} at the first sound instead of the common start; the place was found in the \
         bounce.",
        joined(&names)
    );
    let finding = Finding::new(&KIND, Grade::Look, 1000.0 * latest_s, words)
        .on(tracks.iter().map(|(track, _)| track.id.clone()))
        .at(tracks
            .iter()
            .map(|(_, start_s)| (*start_s, start_s + 4.0))
            .collect())
        .against(0.0, "the common start of all tracks")
        .mend("Export all tracks from the common start, so that nobody has to guess.")
        .hear("whether its first hit falls where it should")
        .sure(0.9);
    Some(finding)
}
