//! What can go wrong when a demo session is made.

use std::io;
use std::path::PathBuf;

/// An error of the generator.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// A setting lies outside what the generator can make.
    #[error("`{name}` is {given}, allowed is {allowed}")]
    Setting {
        /// Name of the setting.
        name: &'static str,
        /// What was asked for.
        given: String,
        /// What can be asked for.
        allowed: &'static str,
    },
    /// The folder holds files, and this generator did not make it.
    #[error(
        "`{}` is not empty and was not made by the demo: name an empty or a new folder",
        folder.display()
    )]
    ForeignFolder {
        /// The folder that was left untouched.
        folder: PathBuf,
    },
    /// A file or folder could not be made, moved or read.
    #[error("cannot {action} `{}`: {source}", path.display())]
    File {
        /// What was tried.
        action: &'static str,
        /// Where.
        path: PathBuf,
        /// Why it failed.
        source: io::Error,
    },
    /// An audio file could not be written.
    #[error("cannot write `{}`: {source}", path.display())]
    Audio {
        /// The file.
        path: PathBuf,
        /// Why it failed.
        source: cupel_audio::AudioError,
    },
    /// The truth could not be put into words.
    #[error("cannot write the truth as json: {0}")]
    Json(#[from] serde_json::Error),
}

impl DemoError {
    pub(crate) fn file(
        action: &'static str,
        path: impl Into<PathBuf>,
    ) -> impl FnOnce(io::Error) -> Self {
        let path = path.into();
        move |source| Self::File {
            action,
            path,
            source,
        }
    }
}
