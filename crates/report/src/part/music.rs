//! Musical time, key and layers, session beside reference.

use maud::{Markup, html};

use super::{part, prose, scroll};
use crate::view::{LayerRow, MusicFact, Report};

/// The facts of the music, and under them what plays in the reference.
pub(crate) fn music(report: &Report) -> Markup {
    if report.music.is_empty() && report.layers.is_empty() {
        return html! {};
    }
    part(
        "music",
        "The music",
        html! {
            @if !report.music.is_empty() {
                (scroll("The music of session and reference", facts(&report.music)))
            }
            @if !report.layers.is_empty() {
                h3 id="layers" { "What plays in the reference, and what here" }
                p.quiet {
                    "Heard in the busiest passages; names say no more than the sound bears. "
                    "Where one side has a layer and the other has not, the difference is one of arrangement, not of mix."
                }
                (scroll("Layers of reference and session", layers(&report.layers)))
            }
        },
    )
}

fn facts(facts: &[MusicFact]) -> Markup {
    let reference = facts.iter().any(|fact| fact.reference.is_some());
    html! {
        table.words {
            thead { tr {
                th scope="col" { "" }
                th scope="col" { "Session" }
                @if reference { th scope="col" { "Reference" } }
            } }
            tbody { @for fact in facts {
                tr {
                    th scope="row" { (fact.name) }
                    td { (prose(&fact.session)) }
                    @if reference { td { (prose(fact.reference.as_deref().unwrap_or("–"))) } }
                }
            } }
        }
    }
}

fn layers(rows: &[LayerRow]) -> Markup {
    html! {
        table.words {
            thead { tr {
                th scope="col" { "" }
                th scope="col" { "Reference" }
                th scope="col" { "Session" }
            } }
            tbody { @for row in rows {
                tr {
                    th scope="row" { (row.standing) }
                    td { (row.reference.as_deref().unwrap_or("–")) }
                    td { (row.session.as_deref().unwrap_or("–")) }
                }
            } }
        }
    }
}
