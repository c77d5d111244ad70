//! Clicks at edges.

use cupel_audio::HealthCode;
use cupel_units::{db_to_amplitude, read_seconds};

use super::notes::{around, note};
use crate::evidence::{Click, Evidence, TrackFacts};
use crate::finding::{Finding, Picture};
use crate::kind::{Cause, Family, Kind, Sizes};

/// A step of this height is the size of the fault, dBFS; values are parts of it.
const LIMIT_DBFS: f64 = -40.0;
/// A step stands out of the sound's own by this, dB.
const LEAST_ABOVE_DB: f64 = 14.0;
/// A cut tail within this of the end of the file is the cause of its click, seconds.
const END_S: f64 = 0.05;

pub(crate) const KIND: Kind = Kind {
    name: "edge-click",
    family: Family::Files,
    title: "a click where a file or region begins or ends",
    cause: Cause::File,
    sizes: Sizes::mend("hundredths", 1.0),
    weight: 0.4,
    brings: &[],
    unsure: false,
    measures: "Single steps from one sample to the next that are far higher than all others \
               around and that stay: crackle goes back at once. Steps that come again and again \
               are the sound's own.",
    matters: "A cut in the middle of a wave clicks, and it clicks in every repeat, on every \
              loudspeaker.",
    threshold: "Mend a step from -40 dBFS on that stands 14 dB over the steps of the sound around \
                (common practice, no source).",
    mend: "Fade the region in or out over 2 to 10 ms, or move its edge to where the wave crosses \
           zero, and export again.",
    wrong: "When a hard start is the sound: then it usually comes more than a few times, and is \
            left alone.",
    hear: "Solo the track and loop the place: a short tick at the edge, brighter than the sound.",
    train: "Cut a long bass note at its crest and at its zero crossing, and compare both edges \
            with your eyes closed.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let cut_tail = note(&track.file, HealthCode::TailCutOff).is_some();
    let end_s = track.file.summary.seconds - END_S;
    let counts = |click: &&Click| {
        let of_cut_tail = cut_tail && click.file_edge && click.at_s > end_s;
        click.above_db >= LEAST_ABOVE_DB && !of_cut_tail
    };
    let clicks: Vec<&Click> = track.file.traits.clicks.iter().filter(counts).collect();
    let highest = clicks
        .iter()
        .max_by(|a, b| a.step_dbfs.total_cmp(&b.step_dbfs))?;
    let hundredths = 100.0 * db_to_amplitude(highest.step_dbfs);
    let grade = KIND.sizes.grade(hundredths)?;
    let name = &track.file.name;
    let place = match (highest.file_edge, highest.at_s < END_S) {
        (true, true) => "where its file begins".to_owned(),
        (true, false) => "where its file ends".to_owned(),
        _ => format!("at {}", read_seconds(track.start_s + highest.at_s, true)),
    };
    let more = match clicks.len() {
        1 => String::new(),
        count => format!(", and at {} more places", count - 1),
    };
    let words = format!(
        "{name} clicks {place}{more}: a step of {:.0} dBFS.",
        highest.step_dbfs
    );
    // The highest first, since it is listened to.
    let mut spans: Vec<(f64, f64)> = vec![around(track, highest.at_s, 0.5, 0.5)];
    let others = clicks.iter().filter(|click| **click != *highest);
    spans.extend(others.map(|click| around(track, click.at_s, 0.5, 0.5)));
    let seconds = track.start_s + track.file.summary.seconds;
    let finding = Finding::new(&KIND, grade, hundredths, words)
        .on([track.id.clone()])
        .at(spans.clone())
        .against(
            1.0,
            format!("{LIMIT_DBFS:.0} dBFS; common practice, no source"),
        )
        .mend("Fade that edge over a few milliseconds, and export again.")
        .hear("a tick at this place, brighter than the sound")
        .picture(Picture::Places {
            seconds,
            spans_s: spans,
        })
        .sure(if highest.above_db > 24.0 { 0.95 } else { 0.8 });
    Some(finding)
}
