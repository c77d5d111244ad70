//! Runs `cupel` on files in folders of its own, and keeps what it answered, so that
//! a run cut off goes on where it was.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::error::XtaskError;
use crate::prove::plan;

/// Folder of one binary's answers.
#[derive(Debug)]
pub(crate) struct Work {
    cupel: PathBuf,
    folder: PathBuf,
}

impl Work {
    /// The folder for this binary and these questions, below `root`.
    pub(crate) fn new(cupel: PathBuf, root: &Path) -> Result<Self, XtaskError> {
        let cupel = fs::canonicalize(&cupel).map_err(XtaskError::file(&cupel))?;
        let bytes = fs::read(&cupel).map_err(XtaskError::file(&cupel))?;
        let name = format!("{:016x}-{}", fingerprint(&bytes), plan::VERSION);
        let folder = root.join(name);
        fs::create_dir_all(&folder).map_err(XtaskError::file(&folder))?;
        let folder = fs::canonicalize(&folder).map_err(XtaskError::file(&folder))?;
        Ok(Self { cupel, folder })
    }

    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    /// What was found earlier under this name, or is found now by `make` in an empty
    /// folder that is removed afterwards.
    pub(crate) fn kept<T: Serialize + DeserializeOwned>(
        &self,
        name: &str,
        make: impl FnOnce(&Path) -> Result<T, XtaskError>,
    ) -> Result<T, XtaskError> {
        let path = self.folder.join(format!("{name}.json"));
        if let Some(kept) = read(&path) {
            return Ok(kept);
        }
        let place = tempfile::Builder::new()
            .prefix(&format!("{name}-"))
            .tempdir_in(&self.folder)
            .map_err(XtaskError::file(&self.folder))?;
        let made = make(place.path())?;
        let text = serde_json::to_vec(&made).map_err(|source| XtaskError::Answer {
            program: "prove",
            source,
        })?;
        let half = place.path().join("result");
        fs::write(&half, text).map_err(XtaskError::file(&half))?;
        fs::rename(&half, &path).map_err(XtaskError::file(&path))?;
        Ok(made)
    }

    /// Whether something was found earlier under this name.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.folder.join(format!("{name}.json")).exists()
    }

    /// Asks `cupel` something in a folder; its measures are kept there, too. A
    /// failure is an answer, and is told in words.
    pub(crate) fn ask(&self, place: &Path, words: &[&str]) -> Result<Value, String> {
        self.ask_with(place, &place.join("cache"), words)
    }

    /// The same, with measures that are kept elsewhere.
    pub(crate) fn ask_with(
        &self,
        place: &Path,
        cache: &Path,
        words: &[&str],
    ) -> Result<Value, String> {
        let output = Command::new(&self.cupel)
            .args(words)
            .arg("--json")
            .arg("--cache")
            .arg(cache)
            .current_dir(place)
            // many run side by side
            .env("RAYON_NUM_THREADS", "1")
            .stdin(Stdio::null())
            .output()
            .map_err(|error| error.to_string())?;
        serde_json::from_slice(&output.stdout).map_err(|_| {
            let said = String::from_utf8_lossy(&output.stderr);
            let line = said.lines().next().unwrap_or("no answer").to_owned();
            format!("`cupel {}` {}: {line}", words.join(" "), output.status)
        })
    }
}

fn read<T: DeserializeOwned>(path: &Path) -> Option<T> {
    serde_json::from_slice(&fs::read(path).ok()?).ok()
}

/// FNV-1a, 64 bits: tells one build from another.
pub(crate) fn fingerprint(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

#[cfg(unix)]
#[cfg(test)]
mod tests {
    use super::*;

    fn program(folder: &Path, script: &str) -> PathBuf {
        use std::os::unix::fs::PermissionsExt;
        let path = folder.join("cupel");
        fs::write(&path, format!("#!/bin/sh\n{script}\n")).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
        path
    }

    #[test]
    fn what_was_found_is_not_asked_again() {
        let place = tempfile::tempdir().unwrap();
        let cupel = program(place.path(), "echo '{\"a\": 1}'");
        let work = Work::new(cupel.clone(), place.path()).unwrap();
        let ask = |place: &Path| Ok(work.ask(place, &["measure"]).unwrap());
        let first: Value = work.kept("piece-1", ask).unwrap();
        let second: Value = work.kept("piece-1", |_| panic!("asked again")).unwrap();
        assert_eq!(first, second);
        // nothing else is left
        assert_eq!(fs::read_dir(work.folder()).unwrap().count(), 1);
        // another binary starts anew
        program(place.path(), "echo '{\"a\": 2}'");
        let other = Work::new(cupel, place.path()).unwrap();
        assert_ne!(other.folder(), work.folder());
    }

    #[test]
    fn a_failure_is_told_in_words() {
        let place = tempfile::tempdir().unwrap();
        let cupel = program(place.path(), "echo 'error: no idea' >&2; exit 1");
        let work = Work::new(cupel, place.path()).unwrap();
        let said = work.ask(place.path(), &["measure", "a.wav"]).unwrap_err();
        assert!(said.contains("cupel measure a.wav") && said.ends_with("error: no idea"));
    }
}
