//! Where a session lives.

use std::path::{Path, PathBuf};

use crate::WorkError;

/// Name of the session file.
pub(crate) const SESSION_FILE: &str = "session.toml";

/// A session's file, its folder, and the audio it would be opened from.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// The session file, which need not exist yet.
    pub file: PathBuf,
    /// Its folder: what the session names is relative to it.
    pub folder: PathBuf,
    /// The folder of audio files, or the one file, to open.
    pub audio: PathBuf,
}

impl Place {
    /// From what was typed: a folder, a session file or an audio file; the
    /// current folder where nothing was.
    ///
    /// # Errors
    /// [`WorkError::NotFound`] where the path leads nowhere.
    pub fn of(given: Option<&Path>) -> Result<Self, WorkError> {
        let given = given.unwrap_or(Path::new("."));
        if given.is_dir() {
            return Ok(Self {
                file: given.join(SESSION_FILE),
                folder: given.to_owned(),
                audio: given.to_owned(),
            });
        }
        if !given.is_file() {
            return Err(WorkError::NotFound {
                path: given.to_owned(),
            });
        }
        let folder = folder_of(given);
        if is_session_name(given) {
            return Ok(Self {
                file: given.to_owned(),
                audio: folder.clone(),
                folder,
            });
        }
        Ok(Self {
            file: folder.join(SESSION_FILE),
            audio: given.to_owned(),
            folder,
        })
    }

    /// The same audio with another session file.
    pub fn with_session(mut self, file: &Path) -> Self {
        self.folder = folder_of(file);
        self.file = file.to_owned();
        self
    }

    /// Where outputs lie.
    pub fn outputs(&self) -> PathBuf {
        self.folder.join("cupel")
    }

    /// A path as the session file writes it: relative to its folder, with `/`;
    /// absolute where there is no relative one.
    pub fn relative(&self, path: &Path) -> String {
        let whole = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let (from, to) = (whole(&self.folder), whole(path));
        // The link itself is named, not what it leads to.
        let to = match (path.parent(), path.file_name()) {
            (Some(parent), Some(name)) if path.is_symlink() => {
                whole(if parent.as_os_str().is_empty() {
                    Path::new(".")
                } else {
                    parent
                })
                .join(name)
            }
            _ => to,
        };
        let relative = pathdiff::diff_paths(&to, &from).unwrap_or(to);
        let parts: Vec<_> = relative
            .components()
            .map(|part| part.as_os_str().to_string_lossy())
            .collect();
        if relative.is_absolute() {
            relative.to_string_lossy().into_owned()
        } else {
            parts.join("/")
        }
    }
}

fn is_session_name(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("toml"))
}

fn folder_of(file: &Path) -> PathBuf {
    match file.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn folder_session_and_audio() {
        let dir = tempfile::tempdir().unwrap();
        let (wav, toml) = (dir.path().join("a.wav"), dir.path().join("other.toml"));
        fs::write(&wav, "").unwrap();
        fs::write(&toml, "").unwrap();
        assert_eq!(
            Place::of(Some(dir.path())).unwrap().file,
            dir.path().join(SESSION_FILE)
        );
        assert_eq!(Place::of(Some(&toml)).unwrap().file, toml);
        let place = Place::of(Some(&wav)).unwrap();
        assert_eq!(
            (place.file, place.audio),
            (dir.path().join(SESSION_FILE), wav)
        );
        assert!(Place::of(Some(&dir.path().join("gone"))).is_err());
    }

    #[test]
    fn names_are_relative_to_the_session() {
        let dir = tempfile::tempdir().unwrap();
        fs::create_dir_all(dir.path().join("set/tracks")).unwrap();
        let wav = dir.path().join("set/tracks/a.wav");
        fs::write(&wav, "").unwrap();
        fs::write(dir.path().join("record.wav"), "").unwrap();
        let place = Place::of(Some(&dir.path().join("set"))).unwrap();
        assert_eq!(place.relative(&wav), "tracks/a.wav");
        assert_eq!(
            place.relative(&dir.path().join("record.wav")),
            "../record.wav"
        );
    }
}
