//! The page: its head, and the order of its parts.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::drawing;
use crate::part::{self, part, prose};
use crate::style;
use crate::view::Report;

/// Writes the page as one self-contained HTML file.
///
/// Byte for byte the same for the same report. Parts without data are left out;
/// an empty report gives a page that says that nothing was measured.
pub fn page(report: &Report) -> String {
    let main = body(report).into_string();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title(report)) }
                style { (PreEscaped(style::sheet())) }
            }
            body {
                (header(report))
                (contents(&main))
                main { (PreEscaped(main)) }
                footer { (part::caution()) p.quiet { (foot(report)) } }
            }
        }
    }
    .into_string()
}

/// The drawings of a report alone, as a piece of HTML for a page with [`sheet`].
pub fn drawings(report: &Report) -> String {
    let drawn = html! {
        @for drawing in drawing::all(report) { (drawing::figure(drawing)) }
    };
    drawn.into_string()
}

/// The style sheet of page and drawings.
pub fn sheet() -> String {
    style::sheet()
}

fn body(report: &Report) -> Markup {
    html! {
        @if is_empty(report) { p { "Nothing was measured yet." } (part::next(report)) }
        @else { (answer(report)) }
        (drawn(report))
        (part::music(report))
        (part::tracks(report))
        (part::detail(report))
        (part::files(report))
        (notes(report))
    }
}

/// Places of a full page worth going to, by id and what a reader calls them.
const PLACES: [(&str, &str); 16] = [
    ("moves", "moves"),
    ("findings", "findings"),
    ("unmended", "what no fader mends"),
    ("standing", "side by side"),
    ("spectrum", "spectrum"),
    ("bar-map", "over the bar"),
    ("low-notes", "low end"),
    ("levels", "levels"),
    ("peaks", "headroom"),
    ("lean", "left and right"),
    ("loudness", "loudness"),
    ("path", "move by move"),
    ("music", "music"),
    ("tracks", "tracks"),
    ("grounds", "trust"),
    ("health", "files"),
];

/// Fewer places need no list of contents.
const FEWEST_PLACES: usize = 4;

/// Links to the places that the page has.
fn contents(main: &str) -> Markup {
    let there: Vec<_> = PLACES
        .iter()
        .filter(|(id, _)| {
            main.contains(&format!("<section id=\"{id}\""))
                || main.contains(&format!("<h3 id=\"{id}\""))
        })
        .collect();
    html! {
        @if there.len() >= FEWEST_PLACES {
            nav.contents aria-label="On this page" {
                ul { @for (id, words) in &there { li { a href=(format!("#{id}")) { (words) } } } }
            }
        }
    }
}

fn title(report: &Report) -> &str {
    if report.title.is_empty() {
        "Report"
    } else {
        &report.title
    }
}

fn is_empty(report: &Report) -> bool {
    let blank = Report {
        title: report.title.clone(),
        made_by: report.made_by.clone(),
        date: report.date.clone(),
        reference: report.reference.clone(),
        next: report.next.clone(),
        ..Report::default()
    };
    *report == blank
}

fn header(report: &Report) -> Markup {
    let reference = report
        .reference
        .as_ref()
        .map(|file| format!("beside {file}"));
    let meta: Vec<&str> = [&reference, &report.date]
        .into_iter()
        .flatten()
        .map(String::as_str)
        .collect();
    html! {
        header {
            @if !report.made_by.is_empty() { p.maker { (report.made_by) } }
            h1 { (title(report)) }
            @if !meta.is_empty() { p.meta { (meta.join(", ")) } }
        }
    }
}

/// The words that lead.
fn answer(report: &Report) -> Markup {
    html! {
        (part::verdict(report))
        (part::matters(report))
        (part::moves(report))
        (part::next(report))
        (part::worse(report))
        (part::unmended(report))
        (part::fine(report))
        (part::findings(report))
        (part::standing(report))
    }
}

fn drawn(report: &Report) -> Markup {
    let drawings = drawing::all(report);
    if drawings.is_empty() {
        return html! {};
    }
    part(
        "drawings",
        "Drawings",
        html! {
            @for drawing in drawings { (drawing::figure(drawing)) }
        },
    )
}

fn notes(report: &Report) -> Markup {
    if report.notes.is_empty() {
        return html! {};
    }
    part(
        "notes",
        "How the numbers came about",
        html! {
            ul { @for note in &report.notes { li { (prose(note)) } } }
        },
    )
}

fn foot(report: &Report) -> String {
    if report.made_by.is_empty() {
        "Nothing on this page comes from elsewhere or is sent anywhere.".to_owned()
    } else {
        format!(
            "Written by {}. Nothing on this page comes from elsewhere or is sent anywhere.",
            report.made_by
        )
    }
}
