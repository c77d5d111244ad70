//! What no fader mends: what stays after the best balance.

use maud::{Markup, html};

use super::{part, prose};
use crate::view::{Cause, Report, Unmended};

/// The rows, the largest first as they came, each with its cause.
pub(crate) fn unmended(report: &Report) -> Markup {
    if report.unmended.is_empty() {
        return html! {};
    }
    part(
        "unmended",
        "What no fader mends",
        html! {
            p.quiet {
                "What stays after the best balance. A sound has to be chosen or shaped; "
                "an arrangement has to play something else, or is meant so."
            }
            ul.matters { @for row in &report.unmended { (one(row)) } }
        },
    )
}

fn one(row: &Unmended) -> Markup {
    let cause = match row.cause {
        Cause::Sound => "sound",
        Cause::Arrangement => "arrangement",
    };
    html! {
        li {
            p.number { (row.how_much) }
            div {
                p {
                    strong { (row.place) }
                    @if let Some(whose) = &row.whose { ", " (whose) }
                    " " span.from { (cause) }
                }
                @if !row.sentence.is_empty() { p { (prose(&row.sentence)) } }
            }
        }
    }
}
