//! From answers to rows.

mod form;
mod harmony;
mod looped;
mod parts;
mod promises;
mod time;

use crate::prove::answers::Music;
use crate::prove::piece::Case;
use crate::prove::row::Row;
use crate::prove::session::SessionCase;
use crate::prove::truth::TrueMusic;

pub(crate) use promises::Table;

/// A file and what was answered about it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look<'a> {
    pub name: &'a str,
    pub truth: &'a TrueMusic,
    /// Nothing told.
    pub plain: &'a Music,
    /// A range of tempo told.
    pub ranged: &'a Music,
}

/// Everything that was asked.
#[derive(Debug, Default)]
pub(crate) struct Asked {
    pub pieces: Vec<Case>,
    pub arrangements: Vec<Case>,
    /// Made by the generator, with tracks and reference.
    pub made: Vec<SessionCase>,
    /// From the folder of sessions; `None` without one.
    pub shared: Option<Vec<SessionCase>>,
    /// Single sounds of that folder.
    pub one_shots: Option<SessionCase>,
}

impl Asked {
    /// Files with answers that cannot be read, or that failed.
    pub(crate) fn errors(&self) -> Vec<String> {
        let cases = self.pieces.iter().chain(&self.arrangements);
        let pieces = cases.flat_map(|case| {
            let absent = &case.plain.absent;
            let absent = (!absent.is_empty()).then(|| format!("no {}", absent.join(", ")));
            let said = case.errors.iter().cloned().chain(absent);
            said.map(|said| format!("{}: {said}", case.name))
        });
        let sessions = self.made.iter().chain(self.shared.iter().flatten());
        let sessions = sessions.chain(&self.one_shots).flat_map(|case| {
            let said = case.errors.iter();
            said.map(|said| format!("{}: {said}", case.name))
        });
        pieces.chain(sessions).collect()
    }
}

pub(crate) fn looks<'a>(cases: &'a [Case]) -> Vec<Look<'a>> {
    let look = |case: &'a Case| Look {
        name: &case.name,
        truth: &case.truth,
        plain: &case.plain,
        ranged: &case.ranged,
    };
    cases.iter().map(look).collect()
}

pub(crate) fn whole_looks(cases: &[SessionCase]) -> Vec<Look<'_>> {
    let wholes = cases.iter().flat_map(|case| &case.wholes);
    wholes
        .map(|whole| Look {
            name: &whole.name,
            truth: &whole.truth,
            plain: &whole.plain,
            ranged: &whole.ranged,
        })
        .collect()
}

/// All rows and the tables of sureness.
pub(crate) fn all(asked: &Asked) -> (Vec<Row>, Vec<Table>) {
    let pieces = looks(&asked.pieces);
    let arrangements = looks(&asked.arrangements);
    let shared = asked.shared.as_deref();
    let wholes = shared.map(whole_looks).unwrap_or_default();
    let mut rows = Vec::new();
    rows.extend(time::rows("pieces", &pieces));
    rows.extend(time::of_pieces(&asked.pieces));
    rows.extend(time::rows("sessions", &wholes));
    rows.extend(form::rows("arrangements", &arrangements));
    rows.extend(form::rows("sessions", &wholes));
    rows.extend(harmony::of_pieces(&pieces));
    rows.extend(harmony::of_sessions(shared.unwrap_or_default()));
    rows.extend(parts::roles("made sessions", &asked.made));
    rows.extend(parts::roles("sessions", shared.unwrap_or_default()));
    rows.extend(parts::roles("one-shots", asked.one_shots.as_slice()));
    rows.extend(parts::layers(&asked.made));
    rows.extend(looped::rows("made sessions", &asked.made));
    rows.extend(looped::rows("sessions", shared.unwrap_or_default()));
    let (promises, tables) = promises::rows(asked);
    rows.extend(promises);
    if asked.shared.is_none() {
        let without = rows
            .iter_mut()
            .filter(|row| (row.on == "sessions" || row.on == "one-shots") && row.n == 0);
        without.for_each(|row| row.note = "no folder of sessions".to_owned());
    }
    (rows, tables)
}

/// The first few of a list of names, for a note.
pub(crate) fn few<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    let more = names.len().saturating_sub(6);
    let first = names[..names.len() - more].join(" ");
    match (names.len(), more) {
        (0, _) => String::new(),
        (_, 0) => format!("not: {first}"),
        _ => format!("not: {first} and {more} more"),
    }
}
