//! Short summaries for the terminal: legible without colour at 80 columns.

pub(crate) mod assay;
pub(crate) mod balance;
pub(crate) mod demo;
pub(crate) mod explain;
pub(crate) mod findings;
pub(crate) mod listen;
pub(crate) mod looped;
pub(crate) mod measure;
pub(crate) mod open;
pub(crate) mod render;
pub(crate) mod report;

use crate::view::State;

/// Widest line.
const COLUMNS: usize = 80;

/// Breaks text into lines between words; following lines are indented.
pub(crate) fn wrap(text: &str, indent: usize) -> String {
    wrap_within(text, indent, 0)
}

/// The same, the first line being written `first_indent` columns in.
fn wrap_within(text: &str, indent: usize, first_indent: usize) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let pad = if lines.len() > 1 {
            indent
        } else {
            first_indent
        };
        let line = lines.last_mut().map_or(0, |line| line.chars().count());
        if line > 0 && pad + line + 1 + word.chars().count() > COLUMNS {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join(&format!("\n{}", " ".repeat(indent)))
}

/// A number of things, in words: `1 track`, `2 tracks`.
pub(crate) fn count(number: usize, thing: &str) -> String {
    let ending = if number == 1 { "" } else { "s" };
    format!("{number} {thing}{ending}")
}

/// A text cut or filled to a width.
pub(crate) fn cell(text: &str, width: usize) -> String {
    let length = text.chars().count();
    if length <= width {
        return format!("{text}{}", " ".repeat(width - length));
    }
    let kept: String = text.chars().take(width.saturating_sub(1)).collect();
    format!("{kept}…")
}

/// A number with one decimal, right-aligned; a dash where there is none.
pub(crate) fn number(value: Option<f64>, width: usize) -> String {
    let value = value
        .filter(|value| value.is_finite())
        .map(|v| if v.abs() < 0.05 { 0.0 } else { v });
    value.map_or_else(
        || format!("{:>width$}", "-"),
        |value| format!("{value:>width$.1}"),
    )
}

/// Before, after and reference side by side.
pub(crate) fn standing(state: &State<'_>) -> String {
    let mut text = format!(
        "{:28}{:>9}{:>9}{:>11}\n",
        "", "before", "after", "reference"
    );
    for row in state.rows() {
        let verdict = match row.better {
            Some(true) => "  better",
            Some(false) => "  worse",
            None => "",
        };
        let line = format!(
            "{}{}{}{} {:5}{verdict}",
            cell(row.name, 28),
            number(row.before, 9),
            number(row.after, 9),
            number(row.reference, 11),
            row.unit,
        );
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// Lines of notes, each wrapped.
pub(crate) fn notes(notes: &[String]) -> String {
    notes
        .iter()
        .map(|note| format!("{}\n", wrap(&format!("- {note}"), 2)))
        .collect()
}

/// The moves in the order to do them.
pub(crate) fn moves(state: &State<'_>) -> String {
    let mut text = String::new();
    let on: Vec<_> = state.moves.iter().filter(|step| step.on).collect();
    for (index, step) in on.iter().enumerate() {
        let lock = if step.locked { " (locked)" } else { "" };
        let head = format!("{}: {}{lock}", state.target_of(step), step.in_words(""));
        let head = wrap_within(&head, 5, 5);
        text.push_str(&format!("{:>3}. {head}\n", index + 1));
        if !step.why.is_empty() {
            text.push_str(&format!("     {}\n", wrap_within(&step.why, 5, 5)));
        }
        let expected = state.expected(step);
        if !expected.is_empty() {
            let line = format!("expected: {expected}");
            text.push_str(&format!("     {}\n", wrap_within(&line, 5, 5)));
        }
    }
    let off = state.moves.len() - on.len();
    if off > 0 {
        let are = if off == 1 { "is" } else { "are" };
        text.push_str(&format!("     {off} more {are} written down but off.\n"));
    }
    if on.is_empty() {
        text.push_str("No move is on.\n");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_within_eighty_columns() {
        let text = wrap(&"word ".repeat(60), 5);
        assert!(
            text.lines().all(|line| line.chars().count() <= COLUMNS),
            "{text}"
        );
        assert!(
            text.lines()
                .skip(1)
                .all(|line| line.starts_with("     word"))
        );
        assert_eq!(cell("long name", 5), "long…");
        assert_eq!(number(Some(-0.01), 6), "   0.0");
        assert_eq!(number(None, 3), "  -");
    }
}
