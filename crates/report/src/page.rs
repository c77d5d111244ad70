//! The page: its head, and the order of its parts.

use maud::{DOCTYPE, html};

use crate::view::Report;

/// Writes the page as one self-contained HTML file.
///
/// Byte for byte the same for the same report. An empty report gives a page
/// that says so.
pub fn page(report: &Report) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { (report.title) } }
            body { main { h1 { (report.title) } p { (report.next) } } }
        }
    }
    .into_string()
}
