//! A session with everything measured that its files alone tell.

use std::path::{Path, PathBuf};

use cupel_measure::Summary;
use cupel_session::{Session, SessionLock, Track};
use cupel_survey::{Measured, measure_files};

use crate::apart::there;
use crate::open::open_files;
use crate::roles::find_roles;
use crate::trusting::looked_at;
use crate::{Context, OpenOptions, Opened, Place, Problem, WorkError};

/// A measured file of the session.
#[derive(Clone, Debug)]
pub struct FileState {
    /// Name as the session file has it.
    pub file: String,
    /// Where it is.
    pub path: PathBuf,
    /// What was measured.
    pub measured: Measured,
}

impl FileState {
    /// Figures of the whole file.
    pub fn summary(&self) -> &Summary {
        &self.measured.summary
    }
}

/// A track of the session, measured.
#[derive(Clone, Debug)]
pub struct TrackState {
    /// What the session says of it.
    pub track: Track,
    /// Its file; `None` where it could not be used.
    pub file: Option<FileState>,
    /// How sure its role is, 0 to 1; 1 where a person set it.
    pub role_sure: f64,
}

/// A session and what its files measure. The lock is held as long as this lives,
/// or until [`Surveyed::release`].
#[derive(Debug)]
pub struct Surveyed {
    /// Where it lives.
    pub place: Place,
    /// What it says.
    pub session: Session,
    /// Rate of the session, in hertz.
    pub sample_rate_hz: u32,
    /// Its tracks, in session order.
    pub tracks: Vec<TrackState>,
    /// The reference.
    pub reference: Option<FileState>,
    /// The bounce of the session as it plays.
    pub rough: Option<FileState>,
    /// Files that could not be used.
    pub problems: Vec<Problem>,
    /// What was decided, in words.
    pub notes: Vec<String>,
    lock: Option<SessionLock>,
}

impl Surveyed {
    /// Loads and measures a session; opens its folder first where there is no
    /// session file yet.
    ///
    /// # Errors
    /// [`WorkError`] where the session cannot be used at all; single files that
    /// cannot be used are listed in `problems`.
    pub fn load(place: &Place, context: &Context<'_>) -> Result<Self, WorkError> {
        let (mut problems, mut notes) = (Vec::new(), Vec::new());
        if !place.file.is_file() || place.audio.is_file() {
            let Opened {
                problems: at_opening,
                notes: said,
                ..
            } = open_files(place.clone(), &OpenOptions::default(), context)?;
            problems = at_opening;
            notes = said;
        }
        let lock = SessionLock::take(&place.file)?;
        let mut session = Session::load(&place.file)?;
        let paths = Paths::of(place, &session)?;
        let all = paths.all();
        let count = all.len();
        let mut measured = measure_files(&all, context.store, &|done, path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            (context.progress)(
                done as f64 / count.max(1) as f64,
                &format!("measured {name}"),
            );
        })
        .into_iter();
        let mut tracks = Vec::new();
        for (track, path) in session.tracks.iter().zip(&paths.tracks) {
            let file = match path {
                Some(path) => file_state(&track.file, path, measured.next(), &mut problems),
                None => None,
            };
            tracks.push(TrackState {
                track: track.clone(),
                file,
                role_sure: 0.0,
            });
        }
        let reference = apart(
            "reference",
            session.reference.as_ref().map(|r| r.file.as_str()),
            paths.reference,
            &mut measured,
        )?;
        let rough = apart(
            "rough bounce",
            session.rough.as_ref().map(|r| r.file.as_str()),
            paths.rough,
            &mut measured,
        )?;
        find_roles(&mut session, &mut tracks, context)?;
        let sample_rate_hz = session
            .sample_rate_hz
            .unwrap_or_else(|| common_rate(&tracks));
        notes.extend(rate_note(&tracks, sample_rate_hz));
        Ok(Self {
            place: place.clone(),
            session,
            sample_rate_hz,
            tracks,
            reference,
            rough,
            problems,
            notes,
            lock: Some(lock),
        })
    }

    /// Lets other commands at the session: nothing is written any more.
    pub fn release(&mut self) {
        self.lock = None;
    }

    /// The tracks that are part of the sum and whose files can be used.
    pub fn included(&self) -> impl Iterator<Item = (&TrackState, &FileState)> {
        self.tracks
            .iter()
            .filter(|state| state.track.include)
            .filter_map(|state| state.file.as_ref().map(|file| (state, file)))
    }

    /// The session as it can be rendered: tracks without a usable file are out.
    pub fn playable(&self) -> Session {
        let mut session = self.session.clone();
        for (track, state) in session.tracks.iter_mut().zip(&self.tracks) {
            track.include = state.track.include && state.file.is_some();
            track.start_s = state.track.start_s;
        }
        session
    }
}

/// Where the session's files are.
struct Paths {
    tracks: Vec<Option<PathBuf>>,
    reference: Option<PathBuf>,
    rough: Option<PathBuf>,
}

impl Paths {
    fn of(place: &Place, session: &Session) -> Result<Self, WorkError> {
        let tracks = session
            .tracks
            .iter()
            .map(|track| looked_at(track).then(|| place.folder.join(&track.file)))
            .collect();
        let reference = session
            .reference
            .as_ref()
            .map(|r| there(place, "reference", &r.file))
            .transpose()?;
        let rough = session
            .rough
            .as_ref()
            .map(|r| there(place, "rough bounce", &r.file))
            .transpose()?;
        Ok(Self {
            tracks,
            reference,
            rough,
        })
    }

    fn all(&self) -> Vec<PathBuf> {
        let tracks = self.tracks.iter().flatten();
        tracks
            .chain(&self.reference)
            .chain(&self.rough)
            .cloned()
            .collect()
    }
}

type Outcome = Result<Measured, cupel_survey::SurveyError>;

fn file_state(
    file: &str,
    path: &Path,
    measured: Option<Outcome>,
    problems: &mut Vec<Problem>,
) -> Option<FileState> {
    match measured? {
        Ok(measured) => Some(FileState {
            file: file.to_owned(),
            path: path.to_owned(),
            measured,
        }),
        Err(error) => {
            problems.push(Problem::of(file, path, &error));
            None
        }
    }
}

fn apart(
    what: &'static str,
    file: Option<&str>,
    path: Option<PathBuf>,
    measured: &mut impl Iterator<Item = Outcome>,
) -> Result<Option<FileState>, WorkError> {
    let (Some(file), Some(path)) = (file, path) else {
        return Ok(None);
    };
    match measured.next() {
        Some(Ok(measured)) => Ok(Some(FileState {
            file: file.to_owned(),
            path,
            measured,
        })),
        Some(Err(source)) => Err(WorkError::Unusable {
            what,
            source: Box::new(source),
        }),
        None => Ok(None),
    }
}

/// The rate of most tracks; the higher of equals.
fn common_rate(tracks: &[TrackState]) -> u32 {
    let rates: Vec<u32> = tracks
        .iter()
        .filter_map(|state| state.file.as_ref())
        .map(|file| file.measured.info.sample_rate_hz)
        .collect();
    let count = |rate: u32| rates.iter().filter(|&&r| r == rate).count();
    rates
        .iter()
        .copied()
        .max_by_key(|&rate| (count(rate), rate))
        .unwrap_or(48_000)
}

fn rate_note(tracks: &[TrackState], sample_rate_hz: u32) -> Option<String> {
    let other: Vec<&str> = tracks
        .iter()
        .filter_map(|state| state.file.as_ref())
        .filter(|file| file.measured.info.sample_rate_hz != sample_rate_hz)
        .map(|file| file.file.as_str())
        .collect();
    (!other.is_empty()).then(|| {
        format!(
            "brought to the session's {sample_rate_hz} Hz while reading: {}",
            other.join(", ")
        )
    })
}
