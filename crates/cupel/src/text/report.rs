//! Summary of `report`.

use std::path::Path;

use crate::text::wrap;
use crate::view::{self, State};

pub(crate) fn summary(state: &State<'_>, path: &Path) -> String {
    let mut text = String::new();
    let matters = view::matters(state);
    if !matters.is_empty() {
        text.push_str("What matters now:\n");
    }
    for (index, matter) in matters.iter().enumerate() {
        let place = matter
            .track
            .as_ref()
            .map_or_else(String::new, |track| format!("{track}: "));
        let line = format!(
            "{}. {place}{}. {}",
            index + 1,
            matter.number,
            matter.sentence
        );
        text.push_str(&format!("  {}\n", wrap(&line, 5)));
    }
    text.push_str(&format!("\nThe report: {}\n", path.display()));
    let next = view::next(state).replace('`', "");
    text.push_str(&wrap(&format!("Next: {next}"), 2));
    text.trim_start().to_owned()
}
