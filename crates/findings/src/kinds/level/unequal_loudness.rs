//! Mix and reference are not equally loud when you compare them.

use cupel_units::read_lufs;

use crate::evidence::Evidence;
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "unequal-loudness",
    family: Family::Level,
    title: "the reference is louder than the mix",
    cause: Cause::Reference,
    sizes: Sizes::look("LU", 1.0),
    weight: 0.25,
    brings: &[],
    unsure: false,
    measures: "The loudness of the busiest passage of the mix against that of the reference.",
    matters: "The louder of two sounds better, whatever its balance. A master is about 8 to 10 \
              dB louder than a mix before mastering.",
    threshold: "1 LU, only to look at: tests of hearing match within 0.1 to 0.5 LU. Loudness as \
                in ITU-R BS.1770-5.",
    mend: "Turn the reference down by the amount named before you compare; never the mix up.",
    wrong: "It is never wrong, but it is no fault of the mix.",
    hear: "Switch without matching, then with: bass and air that seemed to lack are often only \
           level.",
    train: "Compare a track with itself 1 dB louder, not knowing which is which, and notice what \
            you are tempted to call it.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let mix = evidence
        .mix
        .as_ref()
        .and_then(|mix| mix.in_passage.as_ref());
    let reference = evidence
        .reference
        .as_ref()
        .and_then(|r| r.in_passage.as_ref());
    let lufs = mix
        .and_then(|m| m.integrated_lufs)
        .zip(reference.and_then(|r| r.integrated_lufs));
    let Some((mix_lufs, reference_lufs)) = lufs else {
        return Vec::new();
    };
    let apart_lu = reference_lufs - mix_lufs;
    let Some(grade) = KIND.sizes.grade(apart_lu.abs()) else {
        return Vec::new();
    };
    let way = if apart_lu > 0.0 { "louder" } else { "softer" };
    let words = format!(
        "The reference's busiest passage is {:.1} LU {way} ({} against {}).",
        apart_lu.abs(),
        read_lufs(Some(reference_lufs)),
        read_lufs(Some(mix_lufs))
    );
    let turn = if apart_lu > 0.0 { "down" } else { "up" };
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.to_owned(),
        value,
        meant,
    };
    let mut finding = Finding::new(&KIND, grade, apart_lu.abs(), words)
        .against(0.0, "equal loudness")
        .sure(1.0)
        .mend(format!(
            "Turn the reference {turn} by {:.1} dB to compare.",
            apart_lu.abs()
        ))
        .hear("both, first as they are, then matched")
        .picture(Picture::Bars {
            unit: "LUFS".into(),
            rows: vec![
                row("mix", mix_lufs, false),
                row("reference", reference_lufs, true),
            ],
            limit: None,
        });
    finding.weight = 0.4 * KIND.weight;
    vec![finding]
}
