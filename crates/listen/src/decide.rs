//! Yes or no to each move, written into the session file.

use std::sync::MutexGuard;

use cupel_session::{Parameters, Session, SessionError, SessionLock};
use serde::Deserialize;

use crate::ListenError;
use crate::room::Room;

/// What is decided about one move; what is absent stays.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Decision {
    /// The move.
    pub(crate) id: String,
    /// Whether it takes effect.
    pub(crate) on: Option<bool>,
    /// Whether Cupel leaves it alone.
    pub(crate) locked: Option<bool>,
    /// Its gain, of trims and faders, -96 to 24 dB.
    pub(crate) gain_db: Option<f64>,
    /// Whether it was made in the workstation.
    pub(crate) done: Option<bool>,
}

/// What became of a decision.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// It is in the file.
    Written,
    /// The file was changed elsewhere: nothing was written, the decision waits.
    Conflict,
}

/// How a conflict ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Resolve {
    /// The file as it is; what waits is dropped.
    ReadAgain,
    /// What waits goes into the file as it is; where both changed one thing, the file
    /// wins.
    PutInto,
}

impl Room {
    /// Takes a decision: it is heard at once and written.
    ///
    /// # Errors
    /// [`ListenError::NoMove`], [`ListenError::Value`], [`ListenError::Vanished`], and
    /// where the file cannot be written.
    pub(crate) fn decide(&self, decision: &Decision) -> Result<Outcome, ListenError> {
        let _turn = self.turn();
        self.still_there()?;
        let state = self.state();
        let mut session = state.pending.clone().unwrap_or(state.session);
        apply(&mut session, decision)?;
        if let Some(done) = decision.done {
            let mut kept = self.state().kept;
            kept.done.retain(|id| *id != decision.id);
            if done {
                kept.done.push(decision.id.clone());
            }
            kept.save(&self.place)?;
            self.with(|state| state.kept = kept);
        }
        if decision.on.or(decision.locked).is_none() && decision.gain_db.is_none() {
            return Ok(Outcome::Written);
        }
        if state.pending.is_some() {
            self.with(|state| state.pending = Some(session.clone()));
            self.take(session);
            return Ok(Outcome::Conflict);
        }
        self.write(session)
    }

    /// Ends a conflict.
    ///
    /// # Errors
    /// Where the file cannot be read or written.
    pub(crate) fn resolve(&self, how: Resolve) -> Result<Outcome, ListenError> {
        let _turn = self.turn();
        self.still_there()?;
        let pending = self.with(|state| state.pending.take());
        match (how, pending) {
            (Resolve::PutInto, Some(mut session)) => {
                let lock = SessionLock::take(&self.place.file)?;
                let saved = session.save_merged(&self.place.file);
                drop(lock);
                if let Err(error) = saved {
                    self.with(|state| state.pending = Some(session));
                    return Err(error.into());
                }
                self.take(session);
            }
            _ => self.take(Session::load(&self.place.file)?),
        }
        Ok(Outcome::Written)
    }

    /// One decision after the other, each on top of the last.
    fn turn(&self) -> MutexGuard<'_, ()> {
        match self.deciding.lock() {
            Ok(turn) => turn,
            Err(poisoned) => poisoned.into_inner(),
        }
    }

    fn write(&self, mut session: Session) -> Result<Outcome, ListenError> {
        let lock = SessionLock::take(&self.place.file)?;
        let saved = session.save(&self.place.file);
        drop(lock);
        match saved {
            Ok(()) => {
                self.take(session);
                Ok(Outcome::Written)
            }
            Err(SessionError::ChangedMeanwhile { .. }) => {
                self.with(|state| state.pending = Some(session.clone()));
                self.take(session);
                Ok(Outcome::Conflict)
            }
            Err(error) => Err(error.into()),
        }
    }
}

/// Applies a decision to a session, unwritten.
///
/// # Errors
/// [`ListenError::NoMove`], [`ListenError::Value`].
pub(crate) fn apply(session: &mut Session, decision: &Decision) -> Result<(), ListenError> {
    let step = session.moves.iter_mut().find(|step| step.id == decision.id);
    let step = step.ok_or_else(|| ListenError::NoMove(decision.id.clone()))?;
    if let Some(on) = decision.on {
        step.on = on;
    }
    if let Some(locked) = decision.locked {
        step.locked = locked;
    }
    if let Some(gain_db) = decision.gain_db {
        if !(-96.0..=24.0).contains(&gain_db) {
            return Err(ListenError::Value(format!(
                "a gain lies between -96 and 24 dB, not at {gain_db}"
            )));
        }
        match &mut step.parameters {
            Parameters::Trim { gain_db: own } | Parameters::Fader { gain_db: own } => {
                *own = gain_db
            }
            _ => return Err(ListenError::Value("this move has no gain".into())),
        }
        // What a person set stays in later rounds.
        step.locked = true;
    }
    Ok(())
}
