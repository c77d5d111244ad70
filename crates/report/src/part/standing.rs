//! Before, after and reference side by side.

use maud::{Markup, html};

use super::{figure, part, prose, scroll};
use crate::stretch::stretch;
use crate::view::{PassageView, Report, Standing};

/// The table of the whole mix, with the passages it was measured on.
pub(crate) fn standing(report: &Report) -> Markup {
    if report.standing.is_empty() && report.passage.is_none() {
        return html! {};
    }
    part(
        "standing",
        "Side by side",
        html! {
            @if let Some(view) = &report.passage { (passage(view)) }
            @if !report.standing.is_empty() { (scroll("The mix beside the reference", table(&report.standing))) }
        },
    )
}

fn passage(view: &PassageView) -> Markup {
    html! {
        p {
            "Compared: " (stretch(view.mix_s)) " of the mix"
            @if let Some(reference_s) = view.reference_s { ", " (stretch(reference_s)) " of the reference" }
            ". " (prose(&view.sentence))
        }
    }
}

fn table(rows: &[Standing]) -> Markup {
    let after = rows.iter().any(|row| row.after.is_some());
    let reference = rows.iter().any(|row| row.reference.is_some());
    html! {
        table {
            thead { tr {
                th scope="col" { "Measure" }
                th scope="col" { @if after { "Before" } @else { "Mix" } }
                @if after { th scope="col" { "After" } }
                @if reference { th scope="col" { "Reference" } }
                @if after && reference { th scope="col" { "Moves made it" } }
            } }
            tbody { @for row in rows { (line(row, after, reference)) } }
        }
    }
}

fn line(row: &Standing, after: bool, reference: bool) -> Markup {
    let decimals = if row.unit == "percent" || row.unit == "%" {
        0
    } else {
        1
    };
    html! {
        tr {
            th scope="row" { (row.name) @if !row.unit.is_empty() { ", " span.quiet { (row.unit) } } }
            td { (figure(row.before, decimals, false)) }
            @if after { td { strong { (figure(row.after, decimals, false)) } } }
            @if reference { td { (figure(row.reference, decimals, false)) } }
            @if after && reference { td { @match row.better {
                Some(true) => span.good { "nearer" },
                Some(false) => span.bad { "farther" },
                None => {},
            } } }
        }
    }
}
