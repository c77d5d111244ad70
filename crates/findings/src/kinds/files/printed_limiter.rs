//! A limiter printed on the bounce.

use cupel_audio::HealthCode;
use cupel_trust::Cause as Difference;

use super::notes::note;
use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

/// The bounce's peaks stand this much less over its loudness than the sum's do, LU.
const LESS_PEAK_LU: f64 = 2.5;

pub(crate) const KIND: Kind = Kind {
    name: "printed-limiter",
    family: Family::Files,
    title: "a limiter is printed on the bounce",
    cause: Cause::File,
    sizes: Sizes::mend("", 1.0),
    weight: 0.7,
    brings: &["bounce-limited", "true-peak-over"],
    unsure: true,
    measures: "Whether the bounce gives way where the sum of the tracks is loud, together with \
               flat tops on it or peaks that stand 2.5 LU less over its loudness than the sum's.",
    matters: "What a limiter takes no later step gives back: a master made from this bounce is \
              limited twice, and its hits are small before work has begun.",
    threshold: "Both signs together (common practice, no source).",
    mend: "Bounce again with limiter, clipper and maximiser off; trim all tracks down by the same \
           amount if it then goes over.",
    wrong: "When this bounce is a listening copy and another without a limiter goes to the \
            master, or when the limiter is part of the sound.",
    hear: "The bounce against the sum of the tracks at the same loudness: in the busiest bars \
           the hits step back.",
    train: "Limit a drum loop by 3, 6 and 9 dB, bring all to one loudness, and listen to how far \
            the snare stands out.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    of_bounce(evidence).into_iter().collect()
}

fn of_bounce(evidence: &Evidence) -> Option<Finding> {
    let (bounce, mix) = (evidence.bounce.as_ref()?, evidence.mix.as_ref()?);
    let mut differences = evidence.trust.as_ref()?.differences.iter();
    let gives_way =
        differences.any(|d| matches!(d.cause, Difference::MixDynamics | Difference::MixChain));
    let flat = [HealthCode::FlatTops, HealthCode::ClippedRuns]
        .into_iter()
        .any(|code| note(bounce, code).is_some());
    let of_bounce = bounce.summary.peak_to_loudness_lu?;
    let of_mix = mix.summary.peak_to_loudness_lu?;
    let less_lu = of_mix - of_bounce;
    if !gives_way || !(flat || less_lu >= LESS_PEAK_LU) {
        return None;
    }
    let words = format!(
        "A limiter or clipper is printed on the bounce: its peaks stand {of_bounce:.1} LU over its \
         loudness, those of the tracks' sum {of_mix:.1} LU."
    );
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.to_owned(),
        value,
        meant,
    };
    let finding = Finding::new(&KIND, Grade::Mend, 1.0, words)
        .against(of_mix, "peak over loudness of the sum")
        .mend("Bounce again with limiter and clipper off the mix.")
        .hear("kick and snare where everything plays, bounce against sum at one loudness")
        .in_the_mix()
        .picture(Picture::Bars {
            unit: "LU from loudness to peak".into(),
            rows: vec![row("bounce", of_bounce, true), row("sum", of_mix, false)],
            limit: None,
        })
        .sure(if flat { 0.95 } else { 0.85 });
    Some(finding)
}
