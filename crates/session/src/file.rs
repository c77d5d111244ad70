//! Reading and writing the file: whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use crate::{Session, SessionError};

impl Session {
    /// Reads a session file.
    ///
    /// # Errors
    /// [`SessionError::Read`], [`SessionError::NotText`] and those of
    /// [`Session::parse`].
    pub fn load(path: impl AsRef<Path>) -> Result<Self, SessionError> {
        let path = path.as_ref();
        let file = name_of(path);
        match fs::read(path) {
            Ok(bytes) => Self::parse_named(&as_text(bytes, &file)?, &file),
            Err(source) => Err(SessionError::Read { file, source }),
        }
    }

    /// Writes the session file: a temporary file in the same folder, brought to
    /// disk and renamed, so that the file is the old or the new one at any time.
    ///
    /// Take a [`crate::SessionLock`] before loading to keep other commands out.
    ///
    /// # Errors
    /// [`SessionError::ChangedMeanwhile`] if the file is no longer what was
    /// read (see [`Session::save_merged`]);
    /// [`SessionError::Content`] if a field holds what the file must not;
    /// [`SessionError::Write`], with the old file as it was.
    pub fn save(&mut self, path: impl AsRef<Path>) -> Result<(), SessionError> {
        let path = path.as_ref();
        let file = name_of(path);
        let text = self.to_toml();
        let checked = Self::parse_named(&text, &file)?;
        let written = || match read_if_there(path)? {
            Some(there) if there == text.as_bytes() => Ok(true),
            Some(there) if self.origin.text.as_deref().map(str::as_bytes) != Some(&there) => {
                Ok(false)
            }
            _ => write_whole(path, text.as_bytes()).map(|()| true),
        };
        match written() {
            Ok(true) => {
                self.origin = checked.origin;
                Ok(())
            }
            Ok(false) => Err(SessionError::ChangedMeanwhile { file }),
            Err(source) => Err(SessionError::Write { file, source }),
        }
    }

    /// Like [`Session::save`]; if the file was changed meanwhile, reads it again
    /// and applies the changes made here to it (see [`Session::merge`]).
    ///
    /// # Errors
    /// Those of [`Session::save`] and [`Session::load`].
    pub fn save_merged(&mut self, path: impl AsRef<Path>) -> Result<(), SessionError> {
        let path = path.as_ref();
        for _ in 0..3 {
            match self.save(path) {
                Err(SessionError::ChangedMeanwhile { .. }) => self.merge(path)?,
                other => return other,
            }
        }
        self.save(path)
    }
}

/// The last part of a path, for messages.
pub(crate) fn name_of(path: &Path) -> String {
    path.file_name().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    )
}

fn as_text(bytes: Vec<u8>, file: &str) -> Result<String, SessionError> {
    String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        SessionError::NotText {
            file: file.into(),
            line: good.iter().filter(|&&byte| byte == b'\n').count() + 1,
        }
    })
}

fn read_if_there(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// Writes all bytes or leaves the old file.
fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // A link is followed, so that it stays a link.
    let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let (temporary, mut file) = create_beside(&path)?;
    let result = file
        .write_all(bytes)
        .and_then(|()| keep_permissions(&path, &file))
        .and_then(|()| file.sync_all())
        .and_then(|()| fs::rename(&temporary, &path));
    if result.is_err() {
        let _ = fs::remove_file(&temporary);
        return result;
    }
    sync_folder(&path);
    Ok(())
}

/// A new file `.cupel-…` in the folder of `path`.
fn create_beside(path: &Path) -> io::Result<(PathBuf, File)> {
    static COUNTER: AtomicU64 = AtomicU64::new(0);
    loop {
        let count = COUNTER.fetch_add(1, Ordering::Relaxed);
        let name = format!(".cupel-{}-{count}.tmp", std::process::id());
        let temporary = path.with_file_name(name);
        match OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&temporary)
        {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            other => return other.map(|file| (temporary, file)),
        }
    }
}

fn keep_permissions(old: &Path, file: &File) -> io::Result<()> {
    match fs::metadata(old) {
        Ok(metadata) => file.set_permissions(metadata.permissions()),
        Err(_) => Ok(()),
    }
}

/// Brings the renaming to disk where folders can be opened; elsewhere nothing.
fn sync_folder(path: &Path) {
    if let Some(folder) = path.parent()
        && let Ok(folder) = File::open(folder)
    {
        let _ = folder.sync_all();
    }
}
