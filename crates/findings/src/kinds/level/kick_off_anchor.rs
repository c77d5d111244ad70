//! The kick is far from its anchor.

use cupel_units::read_dbfs;

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "kick-off-anchor",
    family: Family::Level,
    title: "the kick is off its anchor",
    cause: Cause::Mix,
    sizes: Sizes::look("dB", 2.0),
    weight: 0.5,
    brings: &[],
    unsure: false,
    measures: "The highest sample of the kick's tracks together, against the anchor that the \
               session aims at.",
    matters: "All other levels are set beside the kick. With the kick at one known level every \
              session starts alike, and there is headroom for the rest.",
    threshold: "2 dB, only to look at: the anchor is a habit, not a law. The usual anchor is \
                about -12 dBFS (common practice, no source).",
    mend: "Trim all tracks by the same amount, so that the balance stays and the kick comes to \
           its anchor.",
    wrong: "When the kick was lowered on purpose to keep the headroom of the mix, or when the \
            session has no kick and another low element stands for it.",
    hear: "Nothing sounds wrong: look at the peak of the kick alone, in the busiest passage.",
    train: "Set the monitors once so that a mix with the kick at its anchor is comfortable, and \
            leave them there; a session that is off is then heard at once.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(mix) = &evidence.mix else {
        return Vec::new();
    };
    let Some(peak_dbfs) = mix.kick_peak_dbfs else {
        return Vec::new();
    };
    let aim_dbfs = evidence.aims.kick_peak_dbfs;
    let off_db = peak_dbfs - aim_dbfs;
    let kick: Vec<usize> = (0..evidence.tracks.len())
        .filter(|&track| evidence.tracks[track].is_kick)
        .collect();
    let peak = read_dbfs(Some(peak_dbfs));
    let finding = match KIND.sizes.grade(off_db.abs()) {
        // Lowered for headroom: the sum would be too hot with the kick at its anchor.
        Some(_) if off_db < 0.0 && lowered_for_headroom(evidence, -off_db) => return Vec::new(),
        Some(grade) => {
            let way = if off_db > 0.0 { "over" } else { "under" };
            let words = format!(
                "The kick peaks at {peak}, {:.1} dB {way} its anchor.",
                off_db.abs()
            );
            Finding::new(&KIND, grade, off_db.abs(), words)
                .mend(format!("Trim all tracks by {:+.1} dB.", -off_db))
        }
        None => {
            let words = format!("The kick peaks at {peak}, within 2 dB of its anchor.");
            Finding::new(&KIND, Grade::Good, off_db.abs(), words)
        }
    };
    let rule = format!("the anchor of the session, {aim_dbfs:.0} dBFS");
    vec![
        finding
            .against(aim_dbfs, rule)
            .on(evidence.ids(&kick))
            .picture(Picture::Bars {
                unit: "dBFS".into(),
                rows: vec![PictureRow {
                    name: "kick".into(),
                    value: peak_dbfs,
                    meant: true,
                }],
                limit: Some(aim_dbfs),
            }),
    ]
}

/// Whether the mix would go over its headroom, were all raised by `raise_db`.
fn lowered_for_headroom(evidence: &Evidence, raise_db: f64) -> bool {
    let peak_dbfs = evidence
        .mix
        .as_ref()
        .and_then(|mix| mix.summary.sample_peak_dbfs);
    peak_dbfs.is_some_and(|peak| peak + raise_db > evidence.aims.headroom_dbfs + 0.05)
}
