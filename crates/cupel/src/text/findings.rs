//! Findings for people: what holds the mix back, what to look at, what is right.

use cupel_findings::{Finding, Grade};

use crate::text::{wrap, wrap_within};
use crate::view::findings as view;
use crate::view::{State, sentence};

/// So many of each grade are told in full; the rest are named.
const TOLD: usize = 5;

/// All findings of a session, with what to do and how to hear it.
pub(crate) fn findings(state: &State<'_>, findings: &[Finding]) -> String {
    let of = |grade: Grade| -> Vec<&Finding> {
        findings
            .iter()
            .filter(|finding| finding.grade == grade)
            .collect()
    };
    let mut text = String::new();
    let (mend, look, good) = (of(Grade::Mend), of(Grade::Look), of(Grade::Good));
    if mend.is_empty() {
        text.push_str("\nNothing has to be mended first.\n");
    } else {
        text.push_str("\nMend first:\n");
        text.push_str(&told(state, &mend));
    }
    if !look.is_empty() {
        text.push_str("\nLook at these; they may be meant:\n");
        text.push_str(&told(state, &look));
    }
    if !good.is_empty() {
        text.push_str("\nRight already:\n");
        for finding in good.iter().take(TOLD) {
            text.push_str(&item(&finding.sentence));
        }
    }
    if !state.assayed.needs.is_empty() {
        text.push_str("\nWhat would tell more:\n");
        for need in &state.assayed.needs {
            text.push_str(&item(&format!("{}: {}", need.what, need.tells)));
        }
    }
    if !(mend.is_empty() && look.is_empty()) {
        text.push_str("\ncupel explain NAME tells more of any of these.\n");
    }
    text
}

fn told(state: &State<'_>, findings: &[&Finding]) -> String {
    let mut text = String::new();
    for finding in findings.iter().take(TOLD) {
        text.push_str(&in_full(state, finding));
    }
    if findings.len() > TOLD {
        let names: Vec<String> = findings[TOLD..]
            .iter()
            .map(|finding| format!("{} [{}]", finding.title, finding.name))
            .collect();
        text.push_str(&item(&format!(
            "and {} more: {}",
            names.len(),
            names.join("; ")
        )));
    }
    text
}

fn item(words: &str) -> String {
    format!("{}\n", wrap(&format!("- {words}"), 2))
}

/// The sentence, and on lines of their own the mend, how to hear it and what it
/// brings.
fn in_full(state: &State<'_>, finding: &Finding) -> String {
    let unsure = if finding.unsure { " (unsure)" } else { "" };
    let mut text = item(&format!(
        "{}{unsure} [{}]",
        sentence(&finding.sentence),
        finding.name
    ));
    let follows = view::follows(finding);
    let lines = [
        ("mend", sentence(&finding.mend)),
        ("hear", view::hear(state, finding)),
        ("with it", follows.join("; ")),
    ];
    for (label, words) in lines {
        if !words.is_empty() {
            let line = wrap_within(&format!("{label}: {words}"), 6, 4);
            text.push_str(&format!("    {line}\n"));
        }
    }
    text
}
