//! The wave goes over full scale between the samples.

use cupel_units::read_dbtp;

use crate::evidence::{Evidence, FileFacts};
use crate::finding::Finding;
use crate::kind::{Cause, Family, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "true-peak-over",
    family: Family::Level,
    title: "overs between the samples",
    cause: Cause::Mix,
    sizes: Sizes::both("dB", 0.0, 1.0),
    weight: 0.4,
    brings: &[],
    unsure: false,
    measures: "The true peak of bounce and tracks: the highest point of the wave between the \
               samples, against full scale.",
    matters: "Players and lossy coders rebuild the wave between the samples; what lies over full \
              scale is clipped there, though no sample showed it.",
    threshold: "Look from 0 dBTP, mend from 1 dB over (limits: common practice, no source). True \
                peak as in ITU-R BS.1770-5, annex 2.",
    mend: "Turn the track or the mix down by the amount named and a little more, and export \
           again.",
    wrong: "When the file is 32-bit float and is turned down before it is written as integers: \
            nothing is lost then.",
    hear: "A short crackle on the loudest hits, on cheap players and in lossy files before \
           anywhere else.",
    train: "Turn a loud drum loop up in steps of 1 dB into a clipper and find the first step at \
            which you hear it.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let tracks = evidence.tracks.iter();
    let mut found: Vec<Finding> = tracks
        .filter_map(|track| Some(of_file(&track.file, "the track")?.on([track.id.clone()])))
        .collect();
    found.extend(
        evidence
            .bounce
            .as_ref()
            .and_then(|file| of_file(file, "the bounce")),
    );
    found
}

fn of_file(file: &FileFacts, what: &str) -> Option<Finding> {
    let over_db = file.summary.true_peak_dbtp.filter(|peak| *peak > 0.05)?;
    let grade = KIND.sizes.grade(over_db)?;
    let words = format!(
        "{} peaks at {} between the samples.",
        file.name,
        read_dbtp(Some(over_db))
    );
    Some(
        Finding::new(&KIND, grade, over_db, words)
            .against(0.0, "full scale")
            .sure(0.95)
            .mend(format!(
                "Turn {what} down by {:.1} dB and export it again.",
                over_db + 0.5
            ))
            .hear("a crackle on the loudest hits"),
    )
}
