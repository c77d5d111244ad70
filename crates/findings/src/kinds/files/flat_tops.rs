//! Waves cut flat.

use cupel_audio::HealthCode;

use super::notes::{around, joined, note};
use crate::evidence::{Evidence, TrackFacts};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

/// Remark of trust: several files share one ceiling.
const COMMON_CEILING: &str = "common_ceiling";

pub(crate) const KIND: Kind = Kind {
    name: "flat-tops",
    family: Family::Files,
    title: "waves are cut flat",
    cause: Cause::Sound,
    sizes: Sizes::look("runs", 10.0),
    weight: 0.4,
    brings: &[],
    unsure: false,
    measures: "Runs of three or more equal samples at the highest level a file reaches, and \
               whether several files share that level.",
    matters: "What was cut off no later gain brings back. On one driven sound it is the sound; \
              the same ceiling on several files means that a limiter or clipper was printed into \
              all of them.",
    threshold: "Look from ten runs on; mend where several files share one ceiling within 0.05 dB \
                (common practice, no source).",
    mend: "Where it is meant, leave it. Else turn the track down before the device that clips, \
           or take that device off, and export again.",
    wrong: "Driven kicks, square waves and lo-fi sounds are flat on purpose: that is why one \
            file alone is only looked at.",
    hear: "Solo it and listen to its loudest hits: cut waves rasp and lose their punch.",
    train: "Drive one kick into a clipper by 2, 4 and 8 dB, bring all to equal loudness, and \
            listen for the rasp at the start of each hit.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let shared = shared(evidence);
    let alone = |track: &&TrackFacts| !shared.contains(&track.id);
    let mut findings: Vec<Finding> = together(evidence, &shared).into_iter().collect();
    findings.extend(evidence.tracks.iter().filter(alone).filter_map(of_track));
    findings
}

/// Ids of tracks under one ceiling.
fn shared(evidence: &Evidence) -> Vec<String> {
    let notes = evidence.trust.iter().flat_map(|trust| &trust.notes);
    let mut common = notes.filter(|note| note.code == COMMON_CEILING);
    common
        .next()
        .map_or_else(Vec::new, |note| note.tracks.clone())
}

fn ceiling_dbfs(track: &TrackFacts) -> Option<f64> {
    let codes = [HealthCode::ClippedRuns, HealthCode::FlatTops];
    let mut notes = codes.into_iter().filter_map(|code| note(&track.file, code));
    notes.next()?.value
}

fn together(evidence: &Evidence, shared: &[String]) -> Option<Finding> {
    let tracks: Vec<&TrackFacts> = evidence
        .tracks
        .iter()
        .filter(|track| shared.contains(&track.id))
        .collect();
    let ceiling_dbfs = tracks.iter().find_map(|track| ceiling_dbfs(track))?;
    let names: Vec<&str> = tracks
        .iter()
        .map(|track| track.file.name.as_str())
        .collect();
    let words = format!(
        "{} are cut flat at one level, {ceiling_dbfs:.1} dBFS: a limiter or clipper was printed \
         into all of them.",
        joined(&names)
    );
    let row = |track: &&TrackFacts| {
        Some(PictureRow {
            name: track.file.name.clone(),
            value: self::ceiling_dbfs(track)?,
            meant: true,
        })
    };
    let finding = Finding::new(&KIND, Grade::Mend, KIND.sizes.size()?, words)
        .cause(Cause::File)
        .on(shared.to_vec())
        .against(ceiling_dbfs, "one ceiling for unlike sounds")
        .mend("Take limiter or clipper off the mix or the group, and export these tracks again.")
        .hear("the loudest hits, one track after the other")
        .picture(Picture::Bars {
            unit: "dBFS".into(),
            rows: tracks.iter().filter_map(row).collect(),
            limit: Some(ceiling_dbfs),
        });
    Some(finding)
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let codes = [HealthCode::ClippedRuns, HealthCode::FlatTops];
    let note = codes.into_iter().find_map(|code| note(&track.file, code))?;
    let ceiling_dbfs = note.value?;
    let name = &track.file.name;
    let words = format!(
        "{name} is cut flat at {ceiling_dbfs:.1} dBFS: fine if it is driven on purpose, else \
         something on its path clips."
    );
    let mut finding = Finding::new(&KIND, Grade::Look, KIND.sizes.size()?, words)
        .on([track.id.clone()])
        .against(10.0, "runs of equal samples; common practice, no source")
        .mend("If it is not meant, turn it down before the device that clips, and export again.")
        .hear("its loudest hits: a rasp that is not part of the sound")
        .sure(0.9);
    if let Some(at_s) = note.at_s {
        finding = finding.at(vec![around(track, at_s, 0.5, 2.0)]);
    }
    Some(finding)
}
