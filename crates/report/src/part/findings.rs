//! Findings with their evidence.

use maud::{Markup, PreEscaped, html};

use super::{part, prose};
use crate::drawing::finding::picture;
use crate::view::{FindingView, Report};

/// What to mend and what to look at, each with the very thing measured.
pub(crate) fn findings(report: &Report) -> Markup {
    if report.findings.is_empty() {
        return html! {};
    }
    let of = |mend_it: bool| -> Vec<(usize, &FindingView)> {
        let all = report.findings.iter().enumerate();
        all.filter(|(_, finding)| finding.mend_it == mend_it)
            .collect()
    };
    let (mend, look) = (of(true), of(false));
    part(
        "findings",
        "Findings, as the tracks came",
        html! {
            p.quiet {
                "Each with what was measured and how to hear it. "
                code { "cupel explain NAME" } " tells more of one."
            }
            @if !mend.is_empty() { h3 { "Mend" } (list(&mend)) }
            @if !look.is_empty() { h3 { "Look at; it may be meant" } (list(&look)) }
        },
    )
}

fn list(findings: &[(usize, &FindingView)]) -> Markup {
    html! {
        ul.matters.findings { @for (place, finding) in findings { (one(*place, finding)) } }
    }
}

fn one(place: usize, finding: &FindingView) -> Markup {
    let id = format!("finding-{place}");
    let drawn = finding.picture.as_ref();
    let drawn = drawn.and_then(|drawn| picture(drawn, &id, &finding.sentence));
    html! {
        li {
            p.number { (finding.number) }
            div {
                @if !finding.whose.is_empty() || finding.time.is_some() {
                    p {
                        @if !finding.whose.is_empty() { strong { (finding.whose) } " " }
                        @if let Some(time) = &finding.time { span.place { (time) } }
                    }
                }
                p {
                    (prose(&finding.sentence))
                    @if finding.unsure { " " span.from { "unsure" } }
                }
                @if !finding.mend.is_empty() { p.mend { (prose(&finding.mend)) } }
                @if !finding.hear.is_empty() { p.hear { "To hear it: " (prose(&finding.hear)) } }
                @if !finding.follows.is_empty() {
                    p.hear { "With it: " (finding.follows.join("; ")) "." }
                }
                @if let Some(drawn) = drawn { div.small-drawing { (PreEscaped(drawn)) } }
                p.hear { code { (finding.name) } }
            }
        }
    }
}
