//! The moves in the order to do them, each with an empty box for the hand.

use maud::{Markup, html};

use super::{part, prose};
use crate::view::{MoveView, Report};

/// Moves that are on, then those kept for later rounds.
pub(crate) fn moves(report: &Report) -> Markup {
    if report.moves.is_empty() {
        return html! {};
    }
    let mut sorted: Vec<&MoveView> = report.moves.iter().collect();
    sorted.sort_by_key(|step| step.order);
    let (now, later): (Vec<&MoveView>, Vec<&MoveView>) =
        sorted.into_iter().partition(|step| step.on);
    part(
        "moves",
        "The moves, in this order",
        html! {
            @if now.is_empty() { p { "No move is switched on." } }
            @else { (list(&now, "now")) }
            @if !later.is_empty() {
                h3 { "For a later round" }
                p.quiet { "Written into the session, switched off." }
                (list(&later, "later"))
            }
        },
    )
}

fn list(moves: &[&MoveView], id: &str) -> Markup {
    html! { ol.moves { @for (index, step) in moves.iter().enumerate() { (one(step, &format!("{id}-{index}"))) } } }
}

fn one(step: &MoveView, id: &str) -> Markup {
    html! {
           li {
               input type="checkbox" id=(id) autocomplete="off";
               span.ordinal { (step.order) "." }
               div {
                   p.do {
    label for=(id) { strong { (step.target) } ": " (step.in_words) }
    @if let Some(from) = origin(step) { " " span.from { (from) } }
    }
                   @if !step.why.is_empty() { p.why { (prose(&step.why)) } }
                   @if !step.expected.is_empty() { p.expected { "Expect: " (prose(&step.expected)) } }
               }
           }
       }
}

/// Stage, author and lock in one line; nothing where there is nothing to say.
fn origin(step: &MoveView) -> Option<String> {
    let mut words = Vec::new();
    if !step.stage.is_empty() {
        words.push(step.stage.clone());
    }
    if step.by == "hand" {
        words.push("set by hand".to_owned());
    }
    if step.locked {
        words.push("locked".to_owned());
    }
    (!words.is_empty()).then(|| words.join(", "))
}
