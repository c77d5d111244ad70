//! From a folder to a session file.

use std::path::{Path, PathBuf};

use cupel_audio::Reader;
use cupel_session::{Adoption, FoundTrack, Session, SessionLock, ids_from_names};
use cupel_store::content_hash;
use cupel_survey::{SurveyError, find_audio};
use rayon::prelude::*;

use crate::apart::{hash_apart, set_apart};
use crate::{Context, Place, Problem, Surveyed, TempoRange, WorkError};

/// Beginning of the reason why a track whose file is gone is left out.
pub(crate) const FILE_GONE: &str = "file not found";

/// What was asked for.
#[derive(Clone, Debug, Default)]
pub struct OpenOptions {
    /// The reference record.
    pub reference: Option<PathBuf>,
    /// A bounce of the session as it plays.
    pub rough: Option<PathBuf>,
    /// The session file, where it is not `session.toml` in the folder.
    pub session_file: Option<PathBuf>,
    /// Between what the tempo of session and reference lies.
    pub tempo_range: Option<TempoRange>,
}

/// What opening did.
#[derive(Clone, Debug)]
pub struct Opened {
    /// Where the session lives.
    pub place: Place,
    /// The session as written.
    pub session: Session,
    /// Which tracks were known, new, renamed or missing.
    pub adoption: Adoption,
    /// Whether the session file was there before.
    pub known: bool,
    /// Files that cannot be used.
    pub problems: Vec<Problem>,
    /// What was decided, in words.
    pub notes: Vec<String>,
}

/// Opens a folder of exported tracks, or one file, and writes the session file,
/// with the roles found by name and by sound. A folder opened before keeps its
/// roles, locks, moves and comments.
///
/// # Errors
/// [`WorkError`] where there is nothing to open, or the session file cannot be
/// read or written.
pub fn open(
    place: Place,
    options: &OpenOptions,
    context: &Context<'_>,
) -> Result<Opened, WorkError> {
    let mut opened = open_files(place, options, context)?;
    let mut surveyed = Surveyed::load(&opened.place, context)?;
    surveyed.session.save_merged(&opened.place.file)?;
    for problem in surveyed.problems {
        if opened.problems.iter().all(|p| p.file != problem.file) {
            opened.problems.push(problem);
        }
    }
    opened.session = surveyed.session;
    Ok(opened)
}

/// Opens the files without measuring them: no roles yet.
pub(crate) fn open_files(
    place: Place,
    options: &OpenOptions,
    context: &Context<'_>,
) -> Result<Opened, WorkError> {
    let place = match &options.session_file {
        Some(file) => place.with_session(file),
        None => place,
    };
    for given in options.reference.iter().chain(&options.rough) {
        if !given.is_file() {
            return Err(WorkError::NotFound {
                path: given.clone(),
            });
        }
    }
    let files = list(&place)?;
    let _lock = SessionLock::take(&place.file)?;
    let known = place.file.is_file();
    let mut session = if known {
        Session::load(&place.file)?
    } else {
        new_session(&place)
    };
    refuse_other_session(&place, &session, known)?;
    let mut notes = Vec::new();
    let tracks = set_apart(&place, options, &mut session, files, &mut notes)?;
    let (found, problems) = look_at(&place, &tracks, context);
    if found.is_empty() {
        return Err(match problems.into_iter().next() {
            Some(_) => WorkError::NoneUsable {
                path: place.audio.clone(),
                count: tracks.len(),
            },
            None => WorkError::NoAudio {
                path: place.audio.clone(),
                folders: Vec::new(),
            },
        });
    }
    if let Some(range) = options.tempo_range {
        set_range(&mut session, range);
    }
    let adoption = session.adopt_tracks(&found);
    mark_missing(&mut session, &adoption);
    hash_apart(&place, &mut session)?;
    session.save_merged(&place.file)?;
    Ok(Opened {
        place,
        session,
        adoption,
        known,
        problems,
        notes,
    })
}

fn set_range(session: &mut Session, range: TempoRange) {
    let reference = session.reference.as_mut().map(|r| &mut r.music);
    for music in std::iter::once(&mut session.music).chain(reference) {
        music.lowest_bpm = Some(range.lowest_bpm);
        music.highest_bpm = Some(range.highest_bpm);
    }
}

fn list(place: &Place) -> Result<Vec<PathBuf>, WorkError> {
    if place.audio.is_file() {
        return Ok(vec![place.audio.clone()]);
    }
    let found = find_audio(&place.audio)?;
    if found.files.is_empty() {
        return Err(WorkError::NoAudio {
            path: place.audio.clone(),
            folders: found.folders,
        });
    }
    Ok(found.files)
}

fn new_session(place: &Place) -> Session {
    let whole = place
        .folder
        .canonicalize()
        .unwrap_or_else(|_| place.folder.clone());
    let name = whole
        .file_name()
        .map_or_else(|| "session".into(), |n| n.to_string_lossy().into_owned());
    Session::new(name)
}

/// One file must not take over a session of several that happens to lie beside it.
fn refuse_other_session(place: &Place, session: &Session, known: bool) -> Result<(), WorkError> {
    let one_file = place.audio.is_file();
    let file = place.relative(&place.audio);
    if known && one_file && session.tracks.iter().any(|track| track.file != file) {
        let session = place
            .file
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        return Err(WorkError::OtherSession { session, file });
    }
    Ok(())
}

/// Looks at every file's header and content, in parallel.
fn look_at(
    place: &Place,
    files: &[PathBuf],
    context: &Context<'_>,
) -> (Vec<FoundTrack>, Vec<Problem>) {
    (context.progress)(0.0, "looking at the files");
    let looked: Vec<Result<Looked, SurveyError>> =
        files.par_iter().map(|file| look(file)).collect();
    let mut usable = Vec::new();
    let mut problems = Vec::new();
    for (file, result) in files.iter().zip(looked) {
        match result {
            Ok(looked) => usable.push((file, looked)),
            Err(error) => problems.push(Problem::of(&place.relative(file), file, &error)),
        }
    }
    let stems: Vec<String> = usable.iter().map(|(file, _)| stem(file)).collect();
    let stems: Vec<&str> = stems.iter().map(String::as_str).collect();
    let ids = ids_from_names(&stems);
    let earliest = usable
        .iter()
        .filter_map(|(_, looked)| looked.stamp_s)
        .fold(f64::INFINITY, f64::min);
    let found = usable
        .iter()
        .zip(ids)
        .map(|((file, looked), suggested_id)| FoundTrack {
            file: place.relative(file),
            content: Some(looked.content.clone()),
            suggested_id,
            role: None,
            group: None,
            start_s: looked.stamp_s.map_or(0.0, |stamp| stamp - earliest),
        })
        .collect();
    (found, problems)
}

struct Looked {
    content: String,
    /// Time stamp of the file's start, in seconds.
    stamp_s: Option<f64>,
}

fn look(file: &Path) -> Result<Looked, SurveyError> {
    let reader = Reader::open(file)?;
    let info = reader.info();
    let stamp_s = info
        .time_reference
        .map(|samples| samples as f64 / f64::from(info.sample_rate_hz));
    Ok(Looked {
        content: content_hash(file)?,
        stamp_s,
    })
}

fn mark_missing(session: &mut Session, adoption: &Adoption) {
    for track in &mut session.tracks {
        let gone = adoption.missing.contains(&track.id);
        let marked = track
            .why_left_out
            .as_deref()
            .is_some_and(|why| why.starts_with(FILE_GONE));
        if gone && track.include {
            track.include = false;
            track.why_left_out = Some(format!("{FILE_GONE} when the folder was opened"));
        } else if !gone && marked {
            track.include = true;
            track.why_left_out = None;
        }
    }
}

pub(crate) fn stem(file: &Path) -> String {
    file.file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}
