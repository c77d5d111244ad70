//! The mix peaks too high.

use cupel_units::read_dbfs;

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};
use crate::needs::is_single;

pub(crate) const KIND: Kind = Kind {
    name: "premaster-peak",
    family: Family::Level,
    title: "the mix peaks too high",
    cause: Cause::Mix,
    sizes: Sizes::both("dBFS", -3.0, -1.0),
    weight: 0.6,
    brings: &["true-peak-over"],
    unsure: false,
    measures: "The highest sample of the sum of all tracks as they came.",
    matters: "Whoever masters the track needs room above the highest peak. Over full scale the \
              sum clips as soon as it is written as integers.",
    threshold: "Look from -3 dBFS, mend from -1 dBFS (common practice, no source). The exact \
                figure matters less than that nothing clips and nothing limits.",
    mend: "Trim all tracks down together; never a limiter on the mix to make it fit.",
    wrong: "When the file is a finished master and not a mix before mastering.",
    hear: "Nothing may sound wrong. Loop the highest peak and watch which tracks meet there.",
    train: "Watch the peak of the sum while you mute one track at a time, and guess first by \
            how much it falls.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(mix) = &evidence.mix else {
        return Vec::new();
    };
    let Some(peak_dbfs) = mix.summary.sample_peak_dbfs else {
        return Vec::new();
    };
    let peak = read_dbfs(Some(peak_dbfs));
    let single = is_single(evidence);
    let what = if single { "mix" } else { "sum of the tracks" };
    // A value rounded to the limit is not over it.
    let Some(grade) = KIND.sizes.grade(peak_dbfs - 0.05) else {
        let words = format!("The {what} peaks at {peak}: there is headroom.");
        return vec![Finding::new(&KIND, Grade::Good, peak_dbfs, words)];
    };
    let aim_dbfs = evidence.aims.headroom_dbfs;
    let mut order: Vec<usize> = (0..mix.peak_shares.len()).collect();
    order.sort_by(|&a, &b| {
        mix.peak_shares[b]
            .total_cmp(&mix.peak_shares[a])
            .then(a.cmp(&b))
    });
    order.truncate(2);
    let names = evidence.names(&order);
    let eaters = match names.as_slice() {
        [one, other] => format!("; {one} and {other} make most of its highest peaks"),
        _ => String::new(),
    };
    let rows = order
        .iter()
        .map(|&track| PictureRow {
            name: evidence.names(&[track]).concat(),
            value: 100.0 * mix.peak_shares[track],
            meant: true,
        })
        .collect();
    let words = format!("The {what} peaks at {peak}{eaters}.");
    let cut_db = peak_dbfs - aim_dbfs;
    let mut finding = Finding::new(&KIND, grade, peak_dbfs, words)
        .against(aim_dbfs, "the headroom the session aims at")
        .sure(1.0)
        .mend(if single {
            format!(
                "Turn it down by {:.1} dB before anything limits it.",
                cut_db.max(0.1)
            )
        } else {
            format!("Trim all tracks by {:+.1} dB.", -cut_db.max(0.1))
        })
        .hear(if single {
            "the highest peak"
        } else {
            "the highest peak; mute the tracks named one by one and watch it fall"
        })
        .picture(Picture::Bars {
            unit: "% of the highest peaks".into(),
            rows,
            limit: None,
        });
    // A limit below zero says nothing about how far it is over.
    finding.weight = KIND.weight * if grade == Grade::Mend { 1.0 } else { 0.4 };
    if let Some(at_s) = mix.highest_peak_s {
        finding = finding.at(vec![((at_s - 1.0).max(0.0), at_s + 1.0)]);
    }
    vec![finding]
}
