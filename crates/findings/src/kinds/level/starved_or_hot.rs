//! A track's level leaves no room, or is next to nothing.

use cupel_units::read_dbfs;

use crate::evidence::{Evidence, TrackFacts};
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

/// A track whose highest sample lies under this is starved, dBFS.
const STARVED_DBFS: f64 = -40.0;

pub(crate) const KIND: Kind = Kind {
    name: "starved-or-hot",
    family: Family::Level,
    title: "a track is exported next to nothing, or over full scale",
    cause: Cause::File,
    sizes: Sizes::mend("dB", 0.1),
    weight: 0.5,
    brings: &["true-peak-over"],
    unsure: false,
    measures: "The highest sample of each track: over full scale, or under -40 dBFS.",
    matters: "What goes over full scale clips as soon as it is written as integers. What is \
              starved is often turned up later, noise and all, and processors that wait for a \
              level do nothing on it.",
    threshold: "Mend over 0 dBFS; look under -40 dBFS (common practice, no source).",
    mend: "Turn the level down, or up, at the first place on its path where it is wrong, and \
           export again.",
    wrong: "When a texture is meant to be next to nothing, or when a float file is turned down \
            before it is written as integers.",
    hear: "A hot track crackles on its loudest hits once it is written as integers; a starved \
           one brings its noise along when it is turned up.",
    train: "Follow one sound from its first device to the mix and guess its peak at every \
            station before you look.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    evidence.tracks.iter().filter_map(of_track).collect()
}

fn of_track(track: &TrackFacts) -> Option<Finding> {
    let peak_dbfs = track.file.summary.sample_peak_dbfs?;
    let name = &track.file.name;
    let peak = read_dbfs(Some(peak_dbfs));
    let finding = if peak_dbfs >= 0.1 {
        let words = format!("{name} peaks at {peak}, over full scale.");
        Finding::new(&KIND, Grade::Mend, peak_dbfs, words)
            .against(0.0, "full scale")
            .mend(format!(
                "Turn it down by {:.0} dB and export it again.",
                peak_dbfs.ceil() + 6.0
            ))
    } else if peak_dbfs < STARVED_DBFS {
        let words = format!("{name} peaks at {peak} only: it is next to nothing.");
        let mut finding = Finding::new(&KIND, Grade::Look, STARVED_DBFS - peak_dbfs, words);
        finding.weight = 0.5 * KIND.weight;
        finding
            .against(STARVED_DBFS, "common practice, no source")
            .mend("Find where on its path the level is lost, and turn it up there.")
    } else {
        return None;
    };
    Some(
        finding
            .on([track.id.clone()])
            .at(track.sounds_s.clone())
            .sure(0.95)
            .hear("its loudest hits"),
    )
}
