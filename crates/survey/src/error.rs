//! What can go wrong between files and features.

use std::path::PathBuf;

use cupel_audio::AudioError;
use cupel_measure::MeasureError;
use cupel_store::StoreError;

/// A failure to find or measure files.
#[derive(Debug, thiserror::Error)]
pub enum SurveyError {
    /// A folder could not be listed.
    #[error("cannot list `{path}`: {source}")]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file could not be read as audio.
    #[error(transparent)]
    Audio(#[from] AudioError),
    /// A file could not be hashed, or the store not be used.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The meter refused the file's form.
    #[error("cannot measure `{path}`: {source}")]
    Measure {
        /// The file.
        path: PathBuf,
        /// Why.
        source: MeasureError,
    },
}

impl SurveyError {
    /// How to mend it, where that is known.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Audio(error) => error.hint(),
            _ => None,
        }
    }
}
