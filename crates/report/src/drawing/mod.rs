//! The drawings: each says in words what it shows, then shows it at two widths.

mod axis;
mod bar_map;
mod bar_map_grid;
mod bar_map_marks;
mod bar_map_owners;
mod bar_map_words;
mod difference;
pub(crate) mod finding;
mod frame;
mod lean;
mod legend;
mod levels;
mod loudness;
mod low_line;
mod low_notes;
mod note_names;
mod owner_rows;
mod path;
mod peaks;
mod regions;
mod spectrum;

use maud::{Markup, PreEscaped, html};

use crate::svg::Svg;
use crate::view::Report;
use frame::{Frame, NARROW, WIDE};

/// A drawing with its words.
pub(crate) struct Drawing {
    /// Unique on the page; also the anchor to link to.
    pub id: &'static str,
    /// What it is, for its `<title>`.
    pub name: &'static str,
    /// What it shows, as its heading.
    pub heading: String,
    /// The same at more length, for those who do not see it.
    pub text: String,
    /// The drawing for desktop and paper, and for phones.
    pub svgs: [Svg; 2],
}

/// The drawings that the report has data for, in the page's order.
pub(crate) fn all(report: &Report) -> Vec<Drawing> {
    [
        spectrum::drawing(report),
        difference::drawing(report),
        bar_map::drawing(report),
        low_notes::drawing(report),
        low_line::drawing(report),
        levels::drawing(report),
        peaks::drawing(report),
        lean::drawing(report),
        loudness::drawing(report),
        path::drawing(report),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Writes one drawing with heading and text.
pub(crate) fn figure(drawing: Drawing) -> Markup {
    let Drawing {
        id,
        name,
        heading,
        text,
        svgs: [wide, narrow],
    } = drawing;
    let wide = wide.finish(&format!("{id}-wide"), name, &text);
    let narrow = narrow.finish(&format!("{id}-narrow"), name, &text);
    html! {
        h3 id=(id) { (heading) }
        figure {
            figcaption.text { (text) }
            div.drawn.wide-frame.scroll { (PreEscaped(wide)) }
            div.drawn.narrow.scroll { (PreEscaped(narrow)) }
        }
    }
}

/// Draws at both widths.
fn at_both_widths(paint: impl Fn(&Frame) -> Svg) -> [Svg; 2] {
    [paint(&WIDE), paint(&NARROW)]
}

/// A level that can be drawn: finite, and held where no scale could follow it.
fn finite(level_db: Option<f64>) -> Option<f64> {
    level_db
        .filter(|db| db.is_finite())
        .map(|db| db.clamp(-400.0, 400.0))
}
