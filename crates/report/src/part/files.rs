//! The bill of health.

use maud::{Markup, html};

use super::{part, prose};
use crate::view::{FileNotes, NoteWeight, Report};

/// Files with findings, the gravest first; the others in one sentence.
pub(crate) fn files(report: &Report) -> Markup {
    if report.files.is_empty() {
        return html! {};
    }
    let mut noted: Vec<&FileNotes> = report
        .files
        .iter()
        .filter(|file| !file.notes.is_empty())
        .collect();
    noted.sort_by_key(|file| std::cmp::Reverse(gravest(file)));
    let healthy: Vec<&FileNotes> = report
        .files
        .iter()
        .filter(|file| file.notes.is_empty())
        .collect();
    part(
        "health",
        "Bill of health",
        html! {
            @if !noted.is_empty() { dl { @for file in &noted { (one(file)) } } }
            @if !healthy.is_empty() { p { (healthy_in_words(&healthy, noted.is_empty())) } }
        },
    )
}

fn gravest(file: &FileNotes) -> u8 {
    file.notes
        .iter()
        .map(|note| rank(note.weight))
        .max()
        .unwrap_or(0)
}

fn rank(weight: NoteWeight) -> u8 {
    match weight {
        NoteWeight::Remark => 0,
        NoteWeight::Warning => 1,
        NoteWeight::Fault => 2,
    }
}

fn one(file: &FileNotes) -> Markup {
    html! {
        dt { (file.file) @if !file.facts.is_empty() { " " span.quiet { "(" (file.facts) ")" } } }
        @for note in &file.notes {
            dd {
                @match note.weight {
                    NoteWeight::Fault => strong.bad { "Fault: " },
                    NoteWeight::Warning => strong { "Look at: " },
                    NoteWeight::Remark => {},
                }
                (prose(&note.text))
                @if let Some(mend) = &note.mend { " " span.mend { (prose(mend)) } }
            }
        }
    }
}

fn healthy_in_words(healthy: &[&FileNotes], all: bool) -> String {
    let names: Vec<&str> = healthy.iter().map(|file| file.file.as_str()).collect();
    let start = if all {
        "Nothing found"
    } else {
        "Nothing found in the others"
    };
    format!("{start}: {}.", names.join(", "))
}
