//! The moves in the order to do them, each with an empty box for the hand.

use maud::{Markup, html};

use super::{capital, part, prose};
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
    let stages = stages(moves);
    html! {
        @for (stage, steps) in stages {
            @if !stage.is_empty() { p.stage { (capital(stage)) } }
            ol.moves { @for (index, step) in steps { (one(step, &format!("{id}-{index}"))) } }
        }
    }
}

/// A stage, and its moves with their place in the whole list.
type Stage<'a> = (&'a str, Vec<(usize, &'a MoveView)>);

/// Runs of moves of one stage, in their order.
fn stages<'a>(moves: &[&'a MoveView]) -> Vec<Stage<'a>> {
    let mut runs: Vec<Stage<'a>> = Vec::new();
    for (index, &step) in moves.iter().enumerate() {
        match runs.last_mut() {
            Some((stage, steps)) if *stage == step.stage => steps.push((index, step)),
            _ => runs.push((&step.stage, vec![(index, step)])),
        }
    }
    runs
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
                @if step.large { p.large { "A large move: look first whether the right file was exported at the right level." } }
                @if !step.why.is_empty() { p.why { (prose(&step.why)) } }
                @if !step.expected.is_empty() { p.expected { "Expect: " (prose(&step.expected)) } }
            }
        }
    }
}

/// Author and lock in one line; nothing where there is nothing to say.
fn origin(step: &MoveView) -> Option<String> {
    let mut words = Vec::new();
    if step.by == "hand" {
        words.push("set by hand");
    }
    if step.locked {
        words.push("locked");
    }
    (!words.is_empty()).then(|| words.join(", "))
}
