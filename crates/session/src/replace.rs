//! A new round of moves in place of the last one.

use crate::ids::unique;
use crate::{By, Move, Session, stage_rank};

/// Which moves a new round keeps. Locked moves and those by hand always stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    /// Only those.
    LockedAndHand,
    /// Those, and every move that is on.
    On,
}

/// What [`Session::replace_moves`] did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Replaced {
    /// Ids of the earlier moves that stayed.
    pub kept: Vec<String>,
    /// Ids of the new moves, as they now stand in the session.
    pub written: Vec<String>,
    /// Ids of the earlier moves that went.
    pub removed: Vec<String>,
    /// New moves that were not written because a locked move of the same
    /// target, kind and stage stands.
    pub refused: Vec<Move>,
}

impl Move {
    /// Whether both have the same target, kind and stage.
    pub(crate) fn does_as(&self, other: &Self) -> bool {
        self.target == other.target && self.kind == other.kind && self.stage == other.stage
    }
}

impl Session {
    /// Replaces the moves of the last round by those of a new one.
    ///
    /// A new move with target, kind and stage of a replaced one takes its id
    /// and its place in the file; other new ones get a free id and stand after
    /// the last move of their stage or an earlier one. A new move that does
    /// what a locked one does is refused.
    pub fn replace_moves(&mut self, new_moves: Vec<Move>, keep: Keep) -> Replaced {
        let mut report = Replaced::default();
        let mut waiting: Vec<Move> = Vec::new();
        let old = std::mem::take(&mut self.moves);
        for new in new_moves {
            if old.iter().any(|step| step.locked && step.does_as(&new)) {
                report.refused.push(new);
            } else {
                waiting.push(new);
            }
        }
        for step in old {
            let stays = step.locked || step.by == By::Hand || (keep == Keep::On && step.on);
            if stays {
                report.kept.push(step.id.clone());
                self.moves.push(step);
            } else if let Some(at) = waiting.iter().position(|new| new.does_as(&step)) {
                let new = waiting.remove(at);
                report.written.push(step.id.clone());
                self.moves.push(Move { id: step.id, ..new });
            } else {
                report.removed.push(step.id);
            }
        }
        for new in waiting {
            let id = unique(&new.id, |id| self.moves.iter().any(|step| step.id == id));
            report.written.push(id.clone());
            self.insert_by_stage(Move { id, ..new });
        }
        report
    }

    /// Puts a move after the last one of its stage or an earlier one.
    fn insert_by_stage(&mut self, step: Move) {
        let rank = stage_rank(&step.stage);
        let before = self
            .moves
            .iter()
            .rposition(|other| stage_rank(&other.stage) <= rank);
        self.moves.insert(before.map_or(0, |at| at + 1), step);
    }
}
