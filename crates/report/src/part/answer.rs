//! What matters now, what got worse, what is right, and what to do next.

use maud::{Markup, html};

use super::{part, prose};
use crate::view::{Matter, Report};

/// The three to five things that matter now.
pub(crate) fn matters(report: &Report) -> Markup {
    if report.matters.is_empty() {
        return html! {};
    }
    part(
        "matters",
        "What matters now",
        html! {
            ol.matters { @for matter in &report.matters { (one(matter)) } }
        },
    )
}

fn one(matter: &Matter) -> Markup {
    html! {
        li {
            p.number { (matter.number) }
            div {
                @if matter.track.is_some() || matter.time.is_some() {
                    p {
                        @if let Some(track) = &matter.track { strong { (track) } }
                        @if let Some(time) = &matter.time {
                            @if matter.track.is_some() { " " }
                            span.place { (time) }
                        }
                    }
                }
                p { (prose(&matter.sentence)) }
                @if let Some(mend) = &matter.mend { p.mend { (prose(mend)) } }
            }
        }
    }
}

/// Where it got worse.
pub(crate) fn worse(report: &Report) -> Markup {
    lines(&report.worse, "worse", "Where it got worse", "")
}

/// What is right already.
pub(crate) fn fine(report: &Report) -> Markup {
    lines(&report.fine, "fine", "Right already", "fine")
}

fn lines(lines: &[String], id: &str, heading: &str, class: &str) -> Markup {
    if lines.is_empty() {
        return html! {};
    }
    part(
        id,
        heading,
        html! {
            ul class=[(!class.is_empty()).then_some(class)] { @for line in lines { li { (prose(line)) } } }
        },
    )
}

/// The next step.
pub(crate) fn next(report: &Report) -> Markup {
    html! { @if !report.next.is_empty() { p.next { strong { "Next: " } (prose(&report.next)) } } }
}
