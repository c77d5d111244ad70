//! What the answers say, in words and rows: shared by terminal and report.

mod balance_path;
pub(crate) mod bar_map;
mod curves;
pub(crate) mod findings;
mod fine;
mod lean;
mod low_end;
mod matters;
pub(crate) mod music;
mod peaks;
mod print;
mod report;
mod standing;

use cupel_report::{PathView, Unmended};
use cupel_session::Move;
use cupel_solve::{Balance, MonoLoss};
use cupel_work::{Assayed, Predicted};

pub(crate) use matters::{matters, sentence};
pub(crate) use print::print_in_words;
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
    /// What the balance found; `None` where it was not asked.
    pub found: Option<&'a Balance>,
    /// What the elements lose in mono with the moves, where it was computed.
    pub mono: &'a [MonoLoss],
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
            found: None,
            mono: &[],
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
            found: None,
            mono: &[],
        }
    }

    /// With what the balance found.
    pub(crate) fn found(mut self, found: &'a Balance) -> Self {
        self.found = Some(found);
        self.path = balance_path::path(&self, found);
        self.unmended = balance_path::unmended(&self, found);
        self
    }

    /// With what the elements lose in mono.
    pub(crate) fn mono(mut self, losses: &'a [MonoLoss]) -> Self {
        self.mono = losses;
        self
    }

    /// Core elements that lose too much in mono, in words.
    pub(crate) fn lost_in_mono(&self) -> Vec<String> {
        let losing = self.mono.iter().filter(|loss| loss.too_much);
        losing
            .map(|loss| {
                format!(
                    "{} loses {:.1} dB of its loudness in mono",
                    loss.element, -loss.loss_db
                )
            })
            .collect()
    }

    /// What a move on a track is expected to do, in words; empty where not known.
    pub(crate) fn expected(&self, step: &Move) -> String {
        let cupel_session::Target::Track(id) = &step.target else {
            return String::new();
        };
        let steps = self.found.map_or(&[][..], |found| &found.path.steps);
        let known = steps.iter().find(|known| {
            known.track == *id
                && step.parameters.gain_db() == Some(known.gain_db)
                && step.at.is_none()
        });
        known.map_or_else(String::new, |known| known.effect.clone())
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
