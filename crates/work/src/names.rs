//! Files whose names say that they are no track: references and bounces.

use cupel_roles::role_of_name;

/// Words that name a bounce of the whole mix (common practice, no source).
const ROUGH: &[&str] = &[
    "roughmix",
    "mixdown",
    "premaster",
    "fullmix",
    "stereo mix",
    "rough mix",
];

/// The same, but not where a sound is named too: `Bass bounce` is a track
/// (common practice, no source).
const ROUGH_ALONE: &[&str] = &["bounce", "rough"];

/// Words that name a reference (common practice, no source).
const REFERENCE: &[&str] = &["refmix", "reftrack", "reference track"];

/// The same, but not where a sound is named too.
const REFERENCE_ALONE: &[&str] = &["reference", "ref"];

/// Whether a file stem names a bounce of the mix.
pub(crate) fn names_rough(stem: &str) -> bool {
    says(stem, ROUGH) || (says(stem, ROUGH_ALONE) && role_of_name(stem).is_none())
}

/// Whether a file stem names a reference.
pub(crate) fn names_reference(stem: &str) -> bool {
    says(stem, REFERENCE) || (says(stem, REFERENCE_ALONE) && role_of_name(stem).is_none())
}

fn says(stem: &str, words: &[&str]) -> bool {
    let plain: String = stem
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    let padded = format!(
        " {} ",
        plain.split_whitespace().collect::<Vec<_>>().join(" ")
    );
    words
        .iter()
        .any(|word| padded.contains(&format!(" {word} ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_words_only() {
        assert!(names_reference("my_REF-track") && names_rough("Song Rough Mix 2"));
        assert!(!names_reference("refrain") && !names_rough("roughkick"));
        assert!(names_reference("Reference") && names_rough("bounce"));
    }

    #[test]
    fn a_bounced_sound_is_a_track() {
        assert!(!names_rough("Bass_bounce") && !names_reference("Kick ref"));
        assert!(names_rough("Bass Song rough mix"));
    }
}
