//! Files whose names say that they are no track: references and bounces.

/// Words that name a bounce of the whole mix (common practice, no source).
const ROUGH: &[&str] = &[
    "bounce",
    "rough",
    "roughmix",
    "mixdown",
    "premaster",
    "fullmix",
    "stereo mix",
    "rough mix",
];

/// Words that name a reference (common practice, no source).
const REFERENCE: &[&str] = &["reference", "ref", "refmix", "reftrack"];

/// Whether a file stem names a bounce of the mix.
pub(crate) fn names_rough(stem: &str) -> bool {
    says(stem, ROUGH)
}

/// Whether a file stem names a reference.
pub(crate) fn names_reference(stem: &str) -> bool {
    says(stem, REFERENCE)
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
    }
}
