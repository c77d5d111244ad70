//! Which files of a folder are audio, in the order people read them.

use std::cmp::Ordering;
use std::fs;
use std::path::{Path, PathBuf};

use cupel_audio::is_audio_name;

use crate::SurveyError;

/// What a folder holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// Audio files lying in the folder itself, in natural order.
    pub files: Vec<PathBuf>,
    /// Subfolders that hold audio files, with their number; never searched further.
    pub folders: Vec<(PathBuf, usize)>,
}

/// Lists the audio files of a folder. Subfolders are only counted; hidden files
/// are passed over.
///
/// # Errors
/// [`SurveyError::Folder`] where it cannot be listed.
pub fn find_audio(folder: &Path) -> Result<Found, SurveyError> {
    let mut found = Found::default();
    for path in list(folder)? {
        if path.is_dir() {
            let count = list(&path).map_or(0, |inner| inner.iter().filter(|p| is_file(p)).count());
            if count > 0 {
                found.folders.push((path, count));
            }
        } else if is_file(&path) {
            found.files.push(path);
        }
    }
    found
        .files
        .sort_by(|a, b| natural_order(&name(a), &name(b)));
    found.folders.sort();
    Ok(found)
}

fn list(folder: &Path) -> Result<Vec<PathBuf>, SurveyError> {
    let failed = |source| SurveyError::Folder {
        path: folder.to_owned(),
        source,
    };
    fs::read_dir(folder)
        .map_err(failed)?
        .map(|entry| entry.map(|e| e.path()).map_err(failed))
        .filter(|path| !path.as_ref().is_ok_and(|p| name(p).starts_with('.')))
        .collect()
}

fn is_file(path: &Path) -> bool {
    is_audio_name(path) && path.is_file()
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

/// Order in which numbers count as numbers: `2 Clap` before `10 Bass`.
pub fn natural_order(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a.chars().peekable(), b.chars().peekable());
    loop {
        match (left.peek().copied(), right.peek().copied()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                match number(&mut left).cmp(&number(&mut right)) {
                    Ordering::Equal => {}
                    unequal => return unequal,
                }
            }
            (Some(x), Some(y)) => {
                match x.to_lowercase().cmp(y.to_lowercase()) {
                    Ordering::Equal => {}
                    unequal => return unequal,
                }
                left.next();
                right.next();
            }
        }
    }
}

/// The digits ahead as (length without leading zeros, digits): compares like the
/// number they stand for, however long.
fn number(chars: &mut std::iter::Peekable<std::str::Chars<'_>>) -> (usize, String) {
    let mut digits = String::new();
    while let Some(digit) = chars.next_if(char::is_ascii_digit) {
        digits.push(digit);
    }
    let digits = digits.trim_start_matches('0').to_owned();
    (digits.len(), digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = ["10 Bass", "2 Clap", "1 Kick", "kick", "Kick 2", "02 Snare"];
        names.sort_by(|a, b| natural_order(a, b));
        assert_eq!(
            names,
            ["1 Kick", "2 Clap", "02 Snare", "10 Bass", "kick", "Kick 2"]
        );
    }

    #[test]
    fn subfolders_are_counted_only() {
        let dir = tempfile::tempdir().unwrap();
        fs::create_dir(dir.path().join("old")).unwrap();
        for file in ["b.wav", "a.flac", ".hidden.wav", "notes.txt", "old/c.wav"] {
            fs::write(dir.path().join(file), "").unwrap();
        }
        let found = find_audio(dir.path()).unwrap();
        let names: Vec<_> = found.files.iter().map(|f| name(f)).collect();
        assert_eq!(names, ["a.flac", "b.wav"]);
        assert_eq!(found.folders, [(dir.path().join("old"), 1)]);
    }

    #[test]
    fn a_missing_folder_is_named() {
        let error = find_audio(Path::new("nowhere")).unwrap_err();
        assert!(error.to_string().starts_with("cannot list `nowhere`"));
    }
}
