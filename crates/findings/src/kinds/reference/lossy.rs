//! The reference was coded with loss.

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade, Kind, Sizes};

pub(crate) const KIND: Kind = Kind {
    name: "reference-lossy",
    family: Family::Reference,
    title: "the reference was coded with loss",
    cause: Cause::Reference,
    sizes: Sizes::look("", 1.0),
    weight: 0.3,
    brings: &[],
    unsure: false,
    measures: "Whether the reference comes from a format that leaves out what is hardly heard, \
               by its container or by the wall such formats leave in the highs.",
    matters: "What was left out is missing in every comparison: the top end looks cut, the \
              sides narrower, and peaks are higher than they were.",
    threshold: "Yes or no. Such coders cut the highs at about 16 to 20 kHz, lower at lower \
                rates (common practice, no source).",
    mend: "Get the same release as WAV or FLAC. Until then, leave everything above its limit \
           out of the comparison.",
    wrong: "When the song was made with sounds that end at the same frequency, so that the wall \
            is part of it.",
    hear: "Listen to hats and room through a high pass at 10 kHz: coded with much loss, they \
           gurgle.",
    train: "Code a song you know at 128 kbit/s and listen to the difference from the original.",
};

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let Some(reference) = evidence.reference.as_ref().filter(|r| r.file.lossy) else {
        return Vec::new();
    };
    let limit_hz = reference.file.summary.bandwidth_hz;
    let (above, mend) = match limit_hz {
        Some(hz) => (
            format!(": nothing is left above {:.1} kHz", hz / 1000.0),
            format!(
                "Get it as WAV or FLAC; until then, compare nothing above {:.0} kHz.",
                (hz / 1000.0).floor()
            ),
        ),
        None => (
            String::new(),
            "Get it as WAV or FLAC; until then, trust its top end and its peaks less.".into(),
        ),
    };
    let words = format!("The reference was coded with loss{above}.");
    let mut finding = Finding::new(&KIND, Grade::Look, 1.0, words)
        .mend(mend)
        .against(0.0, "a reference without loss");
    if let Some(hz) = limit_hz {
        finding = finding.in_band((hz, 20_000.0_f64.max(hz)));
    }
    vec![finding]
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kinds::low_end::trial::{reference, session};

    #[test]
    fn named_with_its_limit_only_where_it_is_so() {
        let mut evidence = session(&[Role::Kick]);
        assert!(find(&evidence).is_empty());
        let mut other = reference();
        evidence.reference = Some(other.clone());
        assert!(find(&evidence).is_empty());
        other.file.lossy = true;
        other.file.summary.bandwidth_hz = Some(16_040.0);
        evidence.reference = Some(other);
        let found = find(&evidence);
        assert!(found[0].sentence.ends_with("above 16.0 kHz."));
        assert!(found[0].mend.contains("above 16 kHz"));
    }
}
