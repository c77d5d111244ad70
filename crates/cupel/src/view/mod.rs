//! What the answers say, in words and rows: shared by terminal and report.

pub(crate) mod bar_map;
mod curves;
mod fine;
mod lean;
mod low_end;
mod matters;
pub(crate) mod music;
mod peaks;
mod report;
mod standing;

use cupel_report::{PathView, Unmended};
use cupel_session::Move;
use cupel_work::{Assayed, Predicted};

pub(crate) use matters::{matters, sentence};
pub(crate) use report::{next, report, write_report};

use crate::view::standing::Row;

/// A session before or after its moves, as it is shown.
pub(crate) struct State<'a> {
    pub assayed: &'a Assayed,
    /// In the order to do them; empty before the balance.
    pub moves: &'a [Move],
    pub after: Option<&'a Predicted>,
    /// Whether `after` was rendered, not only predicted.
    pub rendered: bool,
    /// How the distance falls, move by move, where it was computed.
    pub path: Option<PathView>,
    /// What stays after the best balance, where it was computed.
    pub unmended: Vec<Unmended>,
}

impl<'a> State<'a> {
    /// Before any move.
    pub(crate) fn before(assayed: &'a Assayed) -> Self {
        Self {
            assayed,
            moves: &[],
            after: None,
            rendered: false,
            path: None,
            unmended: Vec::new(),
        }
    }

    /// With moves.
    pub(crate) fn after(
        assayed: &'a Assayed,
        moves: &'a [Move],
        after: &'a Predicted,
        rendered: bool,
    ) -> Self {
        Self {
            assayed,
            moves,
            after: Some(after),
            rendered,
            path: None,
            unmended: Vec::new(),
        }
    }

    /// Before, after and reference, side by side.
    pub(crate) fn rows(&self) -> Vec<Row> {
        standing::rows(self)
    }

    /// Where the moves made it worse, said plainly.
    pub(crate) fn worse(&self) -> Vec<String> {
        standing::worse(self)
    }

    /// The name people know a track by: its file's, without folder and ending.
    pub(crate) fn name_of(&self, id: &str) -> String {
        let track = self.assayed.surveyed.session.track(id);
        track.map_or_else(|| id.to_owned(), |track| shown_name(&track.file))
    }

    /// What a move is made on, as people know it.
    pub(crate) fn target_of(&self, step: &Move) -> String {
        match &step.target {
            cupel_session::Target::All => "all tracks".to_owned(),
            cupel_session::Target::Mix => "the mix".to_owned(),
            cupel_session::Target::Group(group) => format!("group {group}"),
            cupel_session::Target::Track(id) => self.name_of(id),
        }
    }
}

/// A file's name without folder and ending.
pub(crate) fn shown_name(file: &str) -> String {
    let name = file.rsplit('/').next().unwrap_or(file);
    name.rsplit_once('.')
        .map_or(name, |(stem, _)| stem)
        .to_owned()
}
