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
    let place: Vec<&str> = [&matter.track, &matter.time]
        .into_iter()
        .flatten()
        .map(String::as_str)
        .collect();
    html! {
        li {
            p.number { (matter.number) }
            div {
                p { (prose(&matter.sentence)) }
                @if !place.is_empty() { p.place { (place.join(", ")) } }
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
