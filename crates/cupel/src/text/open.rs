//! Summary of `open`.

use cupel_work::Opened;

use crate::text::{cell, count, notes, wrap};

pub(crate) fn summary(opened: &Opened) -> String {
    let session = &opened.session;
    let adoption = &opened.adoption;
    let mut text = format!(
        "{} of {}, written to {}\n\n",
        if opened.known {
            "The session"
        } else {
            "A new session"
        },
        count(session.tracks.len(), "track"),
        opened.place.file.display()
    );
    text.push_str(&format!(
        "{}{}{}{}\n",
        cell("id", 18),
        cell("file", 32),
        cell("role", 14),
        "group"
    ));
    for track in &session.tracks {
        let file = track.file.rsplit('/').next().unwrap_or(&track.file);
        let role = track.role.map_or("?", |role| role.name());
        let group = track.group.map_or("?", |group| group.name());
        let out = if track.include { "" } else { " (left out)" };
        let line = format!(
            "{}{}{}{group}{out}",
            cell(&track.id, 18),
            cell(file, 32),
            cell(role, 14)
        );
        text.push_str(&format!("{}\n", line.trim_end()));
    }
    text.push('\n');
    let apart = |what, file: Option<&str>| {
        file.map_or_else(
            || format!("{what}: none\n"),
            |file| format!("{what}: {file}\n"),
        )
    };
    text.push_str(&apart(
        "Reference",
        session.reference.as_ref().map(|r| r.file.as_str()),
    ));
    text.push_str(&apart(
        "Rough bounce",
        session.rough.as_ref().map(|r| r.file.as_str()),
    ));
    for renamed in &adoption.renamed {
        let line = format!(
            "- `{}` is now `{}` (was `{}`)",
            renamed.id, renamed.to, renamed.from
        );
        text.push_str(&format!("{}\n", wrap(&line, 2)));
    }
    if !adoption.missing.is_empty() {
        let line = format!("- not found, left out: {}", adoption.missing.join(", "));
        text.push_str(&format!("{}\n", wrap(&line, 2)));
    }
    text.push_str(&notes(&opened.notes));
    text.push_str(next(opened));
    text
}

fn next(opened: &Opened) -> &'static str {
    match (&opened.session.reference, &opened.session.rough) {
        (None, _) => "Next: name a reference with --reference FILE, or run cupel assay.",
        (_, None) => "Next: cupel assay. A bounce (--rough FILE) would show whether they add up.",
        _ => "Next: cupel assay, or cupel balance for the moves.",
    }
}
