//! The parts of the page that are words and tables.

mod answer;
mod caution;
mod files;
mod findings;
mod moves;
mod music;
mod standing;
mod tracks;
mod trust;
mod unmended;

pub(crate) use answer::{fine, matters, next, worse};
pub(crate) use caution::caution;
pub(crate) use files::files;
pub(crate) use findings::findings;
pub(crate) use moves::moves;
pub(crate) use music::music;
pub(crate) use standing::standing;
pub(crate) use tracks::tracks;
pub(crate) use trust::{detail, verdict};
pub(crate) use unmended::unmended;

use maud::{Markup, html};

/// One part with its heading; `id` names both.
pub(crate) fn part(id: &str, heading: &str, body: Markup) -> Markup {
    let heading_id = format!("{id}-heading");
    html! {
        section id=(id) aria-labelledby=(heading_id) {
            h2 id=(heading_id) { (heading) }
            (body)
        }
    }
}

/// A frame in which a wide table scrolls by itself.
pub(crate) fn scroll(label: &str, table: Markup) -> Markup {
    html! { div.scroll tabindex="0" role="region" aria-label=(label) { (table) } }
}

/// A sentence; what stands between backticks is set as code.
pub(crate) fn prose(text: &str) -> Markup {
    let pieces: Vec<&str> = text.split('`').collect();
    if pieces.len().is_multiple_of(2) {
        return html! { (text) }; // a lone backtick is just a character
    }
    html! {
        @for (index, piece) in pieces.iter().enumerate() {
            @if index % 2 == 1 { code { (piece) } } @else { (piece) }
        }
    }
}

/// With a capital at its start.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.collect::<String>() + letters.as_str()
}

/// A number of a table, `decimals` long; a dash where it is missing.
pub(crate) fn figure(value: Option<f64>, decimals: usize, signed: bool) -> String {
    let Some(value) = value.filter(|value| value.is_finite()) else {
        return "–".to_owned();
    };
    let half_a_step = 0.5 * 10f64.powi(-(decimals as i32));
    let value = if value.abs() < half_a_step {
        0.0
    } else {
        value
    };
    if signed && value != 0.0 {
        format!("{value:+.decimals$}")
    } else {
        format!("{value:.decimals$}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_carry_sign_and_decimals() {
        assert_eq!(figure(Some(1.46), 1, true), "+1.5");
        assert_eq!(figure(Some(-0.04), 1, true), "0.0");
        assert_eq!(figure(Some(f64::NEG_INFINITY), 1, false), "–");
    }

    #[test]
    fn backticks_make_code() {
        assert_eq!(
            prose("run `cupel render`").into_string(),
            "run <code>cupel render</code>"
        );
        assert_eq!(prose("a ` b").into_string(), "a ` b");
        assert_eq!(prose("`<b>`").into_string(), "<code>&lt;b&gt;</code>");
    }
}
