//! Reference and bounce: never taken for tracks.

use std::path::{Path, PathBuf};

use cupel_session::{FileEntry, ReferenceEntry, Session};
use cupel_store::content_hash;

use crate::names::{names_reference, names_rough};
use crate::open::stem;
use crate::{OpenOptions, Place, WorkError};

/// Takes reference and bounce out of the files, from what was asked for, what
/// the session says, and what names say; gives the tracks.
///
/// # Errors
/// [`WorkError::NoAudio`] where no track is left.
pub(crate) fn set_apart(
    place: &Place,
    options: &OpenOptions,
    session: &mut Session,
    mut files: Vec<PathBuf>,
    notes: &mut Vec<String>,
) -> Result<Vec<PathBuf>, WorkError> {
    if let Some(path) = &options.reference {
        set_reference(session, place.relative(path));
    }
    if let Some(path) = &options.rough {
        set_rough(session, place.relative(path));
    }
    if place.audio.is_file() {
        return Ok(files);
    }
    let taken = |session: &Session, file: &str| {
        session.reference.as_ref().is_some_and(|r| r.file == file)
            || session.rough.as_ref().is_some_and(|r| r.file == file)
    };
    let mut named = |session: &Session, names: fn(&str) -> bool| -> Vec<String> {
        let (hits, others) = std::mem::take(&mut files).into_iter().partition(|path| {
            let file = place.relative(path);
            let known = session.tracks.iter().any(|track| track.file == file);
            names(&stem(path)) && !known && !taken(session, &file)
        });
        files = others;
        let hits: Vec<PathBuf> = hits;
        hits.iter().map(|path| place.relative(path)).collect()
    };
    let references = named(session, names_reference);
    match references.as_slice() {
        [file] if session.reference.is_none() => {
            notes.push(format!("`{file}` is taken for the reference, by its name"));
            set_reference(session, file.clone());
        }
        others => notes.extend(left_out(others, "a reference", "--reference")),
    }
    let roughs = named(session, names_rough);
    match roughs.as_slice() {
        [file] if session.rough.is_none() => {
            notes.push(format!(
                "`{file}` is taken for the rough bounce, by its name"
            ));
            set_rough(session, file.clone());
        }
        others => notes.extend(left_out(others, "a bounce", "--rough")),
    }
    files.retain(|path| !taken(session, &place.relative(path)));
    if files.is_empty() {
        return Err(WorkError::NoAudio {
            path: place.audio.clone(),
            folders: Vec::new(),
        });
    }
    Ok(files)
}

fn set_reference(session: &mut Session, file: String) {
    let known = session.reference.take().filter(|old| old.file == file);
    session.reference = Some(ReferenceEntry {
        content: None,
        file,
        ..known.unwrap_or_default()
    });
}

fn set_rough(session: &mut Session, file: String) {
    session.rough = Some(FileEntry {
        file,
        content: None,
    });
}

fn left_out(files: &[String], what: &str, option: &str) -> Option<String> {
    let names: Vec<String> = files.iter().map(|file| format!("`{file}`")).collect();
    (!names.is_empty()).then(|| {
        format!(
            "{}: not taken for a track, since the name says {what}; choose with {option} FILE, \
             or rename it if it is a track",
            names.join(", ")
        )
    })
}

/// Notes the content of reference and bounce.
///
/// # Errors
/// [`WorkError::Missing`] where one is not there.
pub(crate) fn hash_apart(place: &Place, session: &mut Session) -> Result<(), WorkError> {
    if let Some(reference) = &mut session.reference {
        let path = there(place, "reference", &reference.file)?;
        reference.content = Some(content_hash(&path)?);
    }
    if let Some(rough) = &mut session.rough {
        let path = there(place, "rough bounce", &rough.file)?;
        rough.content = Some(content_hash(&path)?);
    }
    Ok(())
}

/// The path of a file that the session names, if it is there.
///
/// # Errors
/// [`WorkError::Missing`], with the name.
pub(crate) fn there(place: &Place, what: &'static str, file: &str) -> Result<PathBuf, WorkError> {
    let path = place.folder.join(Path::new(file));
    if path.is_file() {
        Ok(path)
    } else {
        Err(WorkError::Missing {
            what,
            file: file.to_owned(),
        })
    }
}
