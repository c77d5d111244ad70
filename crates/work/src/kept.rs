//! Which moves of a session are kept, and how those of Cupel are written beside them.

use cupel_session::{By, Move, MoveKind, Parameters, Session, Target};
use cupel_units::{Group, round_to_step};

/// Which moves settle their matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Keeps {
    /// Those that are on, or were locked while they are off: what a round keeps.
    Set,
    /// Of these, those that are locked or by hand.
    Staying,
}

impl Keeps {
    fn keeps(self, step: &Move) -> bool {
        is_set(step) && (self == Self::Set || stays(step))
    }
}

/// Whether a move of that kind is kept on a track.
pub(crate) fn has_kept(session: &Session, id: &str, kind: MoveKind, keeps: Keeps) -> bool {
    let target = Target::Track(id.to_owned());
    let mut moves = session.moves.iter();
    moves.any(|step| step.kind == kind && step.target == target && keeps.keeps(step))
}

/// Writes moves for single sections, off, where none of their kind stands.
pub(crate) fn offer(session: &mut Session, steps: impl Iterator<Item = Move>) {
    for mut step in steps {
        let mut moves = session.moves.iter();
        if moves.any(|other| other.target == step.target && other.at == step.at) {
            continue;
        }
        while session.moves.iter().any(|other| other.id == step.id) {
            step.id.push_str("-again");
        }
        session.moves.push(step);
    }
}

pub(crate) fn stays(step: &Move) -> bool {
    step.locked || step.by == By::Hand
}

/// Whether a move settles its matter: one that is on, or that was locked while
/// it is off.
fn is_set(step: &Move) -> bool {
    step.on || step.locked
}

fn gain_when_on_db(step: &Move) -> Option<f64> {
    let gain_db = step.parameters.gain_db()?;
    Some(if step.on { gain_db } else { 0.0 })
}

/// Gain of the moves that are kept on this track or its group, where there are any.
pub(crate) fn kept_gain_db(session: &Session, id: &str, keeps: Keeps) -> Option<f64> {
    let group: Option<Group> = session.track(id)?.group;
    let mut gains = session
        .moves
        .iter()
        .filter(|step| keeps.keeps(step) && step.at.is_none())
        .filter(|step| matches!(step.target, Target::Track(_) | Target::Group(_)))
        .filter(|step| step.target.reaches(id, group))
        .filter_map(gain_when_on_db)
        .peekable();
    gains.peek()?;
    Some(gains.sum())
}

pub(crate) fn kept_trim_db(session: &Session) -> Option<f64> {
    let mut trims = session
        .moves
        .iter()
        .filter(|step| stays(step) && is_set(step) && step.kind == MoveKind::Trim)
        .filter_map(gain_when_on_db)
        .peekable();
    trims.peek()?;
    Some(trims.sum())
}

/// Whether someone switched off the common trim of an earlier round.
pub(crate) fn trim_switched_off(session: &Session) -> bool {
    let mut moves = session.moves.iter();
    moves.any(|step| step.target == Target::All && !stays(step) && !step.on)
}

/// Lowers the whole mix: the trim of Cupel takes it, or a new one does, which
/// is off where such a trim was switched off. One that is off is left alone.
pub(crate) fn lower(session: &mut Session, cut_db: f64, on: bool) {
    let trim = session
        .moves
        .iter_mut()
        .find(|step| step.kind == MoveKind::Trim && step.target == Target::All && !stays(step));
    let words = format!("all down by {cut_db:.1} dB to keep the headroom");
    match trim {
        Some(step) if !step.on => {}
        Some(step) => {
            let gain_db = step.parameters.gain_db().unwrap_or(0.0) - cut_db;
            let gain_db = round_to_step(gain_db, 1e-6);
            step.parameters = Parameters::Trim { gain_db };
            step.why = format!("{}; {words}", step.why);
        }
        None => {
            let parameters = Parameters::Trim { gain_db: -cut_db };
            let mut step = Move::new(Target::All, parameters, By::Cupel, "anchor", words);
            step.on = on;
            while session.moves.iter().any(|other| other.id == step.id) {
                step.id.push_str("-headroom");
            }
            session.moves.insert(0, step);
        }
    }
}
