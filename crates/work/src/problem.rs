//! A file that could not be used, while the others could.

use std::path::Path;

use cupel_survey::SurveyError;
use serde::Serialize;

/// What went wrong with one file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Problem {
    /// The file, relative to the session's folder or as given.
    pub file: String,
    /// What is wrong, where.
    pub error: String,
    /// How to mend it.
    pub hint: Option<String>,
}

impl Problem {
    /// Of the file at `path`, which people know as `file`: no other path is said,
    /// since reports are passed on.
    pub fn of(file: &str, path: &Path, error: &SurveyError) -> Self {
        Self {
            file: file.to_owned(),
            error: error
                .to_string()
                .replace(&format!("`{}`", path.display()), &format!("`{file}`")),
            hint: error.hint(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_path_is_not_said() {
        let path = Path::new("/home/me/set/gone.wav");
        let error = cupel_audio::Reader::open(path).err().unwrap();
        let problem = Problem::of("gone.wav", path, &error.into());
        assert!(problem.error.starts_with("cannot read `gone.wav`: "));
        assert!(!problem.error.contains("/home"));
    }
}
