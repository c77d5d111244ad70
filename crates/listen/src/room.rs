//! What is listened to, and its state while the page is open.

use std::sync::Mutex;

use cupel_render::Plan;
use cupel_session::{Move, Session};
use cupel_store::Store;
use cupel_work::{Context, Hearing, Place, RawTracks, Stereo, hear_path, hear_plan};

use crate::ListenError;
use crate::blind::Kept;
use crate::laid::{Passage, part};
use crate::live;
use crate::sources::{From, Source};

/// A session open for listening.
pub struct Room {
    pub(crate) hearing: Hearing,
    pub(crate) place: Place,
    /// Drawings as a piece of HTML, and their style sheet.
    pub(crate) drawings: (String, String),
    store: Store,
    /// The tracks for the engine in the page, where they can be held open.
    pub(crate) raw: Option<RawTracks>,
    state: Mutex<State>,
    /// Held by whoever decides: one decision after the other.
    pub(crate) deciding: Mutex<()>,
    /// Held by whoever brings the sources to one loudness: none is forgotten.
    pub(crate) matching: Mutex<()>,
}

/// What changes while the page is open.
#[derive(Clone, Debug)]
pub(crate) struct State {
    /// As in the file, with what was decided here.
    pub(crate) session: Session,
    /// Decisions that could not be written, because the file was changed elsewhere.
    pub(crate) pending: Option<Session>,
    /// Grows with every change of what is heard.
    pub(crate) revision: u64,
    /// The revision that the sources' gains belong to.
    pub(crate) matched: u64,
    pub(crate) sources: Vec<Source>,
    /// Where the sources are equally loud, seconds of the session.
    pub(crate) matched_s: Option<(f64, f64)>,
    /// Loudness all sources are brought to there, LUFS.
    pub(crate) level_lufs: Option<f64>,
    /// Kept beside the session: blind results, moves made in the workstation.
    pub(crate) kept: Kept,
    /// The reference's passage in the session's time.
    pub(crate) laid: Vec<Passage>,
    /// Whether that is still being made.
    pub(crate) laying: bool,
    /// Why it could not be.
    pub(crate) not_laid: Option<String>,
}

impl std::fmt::Debug for Room {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Room")
            .field("place", &self.place)
            .finish_non_exhaustive()
    }
}

impl Room {
    /// Opens a session for listening: `hearing` of it, with drawings (HTML and style
    /// sheet) that were made of the same.
    ///
    /// # Errors
    /// [`ListenError`] where its file or its tracks cannot be read.
    pub fn new(
        hearing: Hearing,
        drawings: (String, String),
        store: Store,
    ) -> Result<Self, ListenError> {
        let place = hearing.assayed.surveyed.place.clone();
        let session = Session::load(&place.file)?;
        let kept = Kept::load(&place);
        let passages = hearing.assayed.passages.as_ref();
        let matched_s = passages.map(|p| (p.stretch.start_s, p.stretch.end_s));
        let has_reference = passages.is_some_and(|p| p.reference.is_some());
        let room = Self {
            raw: live::open(&hearing, &session),
            hearing,
            drawings,
            store,
            state: Mutex::new(State {
                session,
                pending: None,
                revision: 1,
                matched: 1,
                sources: Vec::new(),
                matched_s,
                level_lufs: None,
                kept,
                laid: Vec::new(),
                laying: has_reference,
                not_laid: None,
            }),
            deciding: Mutex::new(()),
            matching: Mutex::new(()),
            place,
        };
        room.match_at(matched_s)?;
        Ok(room)
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.hearing.assayed.surveyed.sample_rate_hz
    }

    /// Works on the state; nobody else does meanwhile.
    pub(crate) fn with<T>(&self, work: impl FnOnce(&mut State) -> T) -> T {
        // A panic elsewhere leaves the state as it was between two assignments.
        let mut state = match self.state.lock() {
            Ok(state) => state,
            Err(poisoned) => poisoned.into_inner(),
        };
        work(&mut state)
    }

    /// The state as it is.
    pub(crate) fn state(&self) -> State {
        self.with(|state| state.clone())
    }

    /// Takes another session: it is heard at once, at the gains of the one before until
    /// [`Room::rematch`] is done.
    pub(crate) fn take(&self, session: Session) {
        self.with(|state| {
            state.session = session;
            state.revision += 1;
        });
    }

    pub(crate) fn context(&self) -> Context<'_> {
        Context {
            store: &self.store,
            progress: &|_, _| (),
        }
    }

    /// Some frames of a source, as it comes: without the gain that matches it.
    ///
    /// # Errors
    /// [`ListenError::NoSource`], and where a file cannot be read.
    pub(crate) fn hear(
        &self,
        id: &str,
        solo: &[String],
        session_frame: u64,
        frames: usize,
    ) -> Result<Stereo, ListenError> {
        let state = self.state();
        let source = state.sources.iter().find(|source| source.id == id);
        let source = source.ok_or_else(|| ListenError::NoSource(id.to_owned()))?;
        let rate_hz = self.sample_rate_hz();
        let first = source.own_frame(session_frame as i64, rate_hz);
        // What lies before the start of a file is silence.
        let silent = (-first).clamp(0, frames as i64) as usize;
        let start = first.max(0) as u64;
        let heard = match &source.from {
            From::File(path) => hear_path(path, rate_hz, start, frames - silent)?,
            From::Laid(laid) => part(&laid.sound, start, frames - silent),
            from => {
                let plan = self.plan(&state.session, solo, *from == From::Moves);
                hear_plan(&plan, start, frames - silent)?
            }
        };
        Ok(later(heard, silent))
    }

    fn plan(&self, session: &Session, solo: &[String], moves: bool) -> Plan {
        self.hearing.plan(session, solo, moves)
    }

    /// Fails where the session is no longer where it was: nothing is made in its place.
    ///
    /// # Errors
    /// [`ListenError::Vanished`].
    pub(crate) fn still_there(&self) -> Result<(), ListenError> {
        match self.place.file.is_file() {
            true => Ok(()),
            false => Err(ListenError::Vanished(self.place.file.clone())),
        }
    }

    /// Moves that are on.
    pub(crate) fn on(session: &Session) -> Vec<&Move> {
        session.moves.iter().filter(|step| step.on).collect()
    }
}

/// The same after some silence.
fn later(sound: Stereo, silent: usize) -> Stereo {
    if silent == 0 {
        return sound;
    }
    let pad = |samples: Vec<f64>| {
        let mut all = vec![0.0; silent];
        all.extend(samples);
        all
    };
    Stereo {
        left: pad(sound.left),
        right: pad(sound.right),
    }
}
