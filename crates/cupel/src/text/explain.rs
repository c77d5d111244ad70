//! A kind of finding, explained.

use cupel_findings::{Kind, Sizes};

use crate::text::{cell, wrap};
use crate::view::sentence;

/// One kind under its headings.
pub(crate) fn summary(kind: &Kind) -> String {
    let mut text = format!("{} [{}]\n", sentence(kind.title), kind.name);
    let parts = [
        ("What it measures", kind.measures),
        ("Why it matters", kind.matters),
        ("How to hear it", kind.hear),
        ("How to train the ear for it", kind.train),
        ("How to mend it", kind.mend),
        ("When it is wrong", kind.wrong),
    ];
    for (heading, words) in parts {
        text.push_str(&format!("\n{heading}\n{}\n", wrap(words, 0)));
    }
    let told = kind.threshold.to_lowercase();
    let limits = match told.contains("look from") || told.contains("mend from") {
        true => String::new(),
        false => limits(&kind.sizes),
    };
    let threshold = format!("{limits}{}", kind.threshold);
    text.push_str(&format!("\nFrom when on\n{}\n", wrap(&threshold, 0)));
    if kind.unsure {
        text.push_str("\nIts proof fell short: take it as a hint.\n");
    }
    text
}

fn limits(sizes: &Sizes) -> String {
    let unit = sizes.unit;
    match (sizes.look, sizes.mend) {
        _ if unit.is_empty() => String::new(),
        (Some(look), Some(mend)) => format!("Look from {look} {unit}, mend from {mend} {unit}. "),
        (Some(look), None) => format!("Look from {look} {unit}. "),
        (None, Some(mend)) => format!("Mend from {mend} {unit}. "),
        (None, None) => String::new(),
    }
}

/// All kinds by family.
pub(crate) fn list(kinds: &[&Kind]) -> String {
    let mut text = String::new();
    let mut family = None;
    for kind in kinds {
        if family != Some(kind.family) {
            family = Some(kind.family);
            text.push_str(&format!("\n{}\n", sentence(kind.family.words())));
        }
        text.push_str(&format!("  {}{}\n", cell(kind.name, 24), kind.title));
    }
    text.push_str("\ncupel explain NAME tells more of one.");
    text.trim_start().to_owned()
}
