//! Something limits or clips the bounce.

use cupel_audio::HealthCode;
use cupel_trust::Cause as Difference;

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

/// The bounce's peaks stand this much less over its loudness than the sum's do, dB.
const LESS_PEAK_DB: f64 = 2.0;

pub(crate) const KIND: Kind = Kind {
    name: "bounce-limited",
    family: Family::Level,
    title: "something limits the bounce",
    cause: Cause::Mix,
    sizes: Sizes::look("", 1.0),
    weight: 0.6,
    brings: &["true-peak-over"],
    unsure: false,
    measures: "Flat tops on the bounce, its peak over its loudness beside that of the sum of \
               the tracks, and what differs between both over time.",
    matters: "A limiter on the mix hides wrong levels: you balance into it, and it gives way. A \
              master needs the mix without it.",
    threshold: "Two of: ten flat tops, peaks that stand 2 dB less over the loudness than in the \
                sum, a difference that follows the level (common practice, no source).",
    mend: "Take limiter, clipper and maximiser off the mix, trim all tracks down, and bounce \
           again.",
    wrong: "When the bounce is a loud listening copy on purpose, or when bus compression is part \
            of the sound and the difference is small.",
    hear: "Kick and snare step back where everything plays; the level of the pad jumps when the \
           kick stops.",
    train: "Put a limiter on a drum loop, at equal loudness switch it in and out at 3, 6 and 9 \
            dB, and listen to the first hit after a gap.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let (Some(bounce), Some(mix)) = (&evidence.bounce, &evidence.mix) else {
        return Vec::new();
    };
    let flat = bounce
        .health
        .iter()
        .find(|note| matches!(note.code, HealthCode::FlatTops | HealthCode::ClippedRuns));
    let peaks = bounce
        .summary
        .peak_to_loudness_lu
        .zip(mix.summary.peak_to_loudness_lu);
    let less_db = peaks.map_or(0.0, |(bounce, mix)| mix - bounce);
    let differs = evidence.trust.as_ref().is_some_and(|trust| {
        let mut differences = trust.differences.iter();
        differences.any(|d| matches!(d.cause, Difference::MixDynamics | Difference::MixChain))
    });
    let signs = [flat.is_some(), less_db >= LESS_PEAK_DB, differs];
    let count = signs.iter().filter(|sign| **sign).count();
    if count < 2 {
        return Vec::new();
    }
    let mut why = Vec::new();
    if flat.is_some() {
        why.push("its peaks are flat".to_owned());
    }
    if less_db >= LESS_PEAK_DB {
        why.push(format!(
            "they stand {less_db:.1} dB less over its loudness than in the sum"
        ));
    }
    if differs {
        why.push("it differs from the sum where that is loud".to_owned());
    }
    let words = format!("Something limits the bounce: {}.", why.join(", "));
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.to_owned(),
        value,
        meant,
    };
    let mut finding = Finding::new(&KIND, Grade::Look, 1.0, words)
        .sure(if count == 3 { 0.95 } else { 0.85 })
        .mend("Take limiter or clipper off the mix, trim all tracks down, and bounce again.")
        .hear("kick and snare against the pad where everything plays");
    if let Some((bounce, mix)) = peaks {
        finding = finding
            .against(mix, "peak over loudness of the sum")
            .picture(Picture::Bars {
                unit: "LU from loudness to peak".into(),
                rows: vec![row("bounce", bounce, true), row("sum", mix, false)],
                limit: None,
            });
    }
    if let Some(at_s) = flat.and_then(|note| note.at_s) {
        finding = finding.at(vec![((at_s - 1.0).max(0.0), at_s + 2.0)]);
    }
    vec![finding]
}
