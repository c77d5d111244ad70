//! What can go wrong.

use std::path::{Path, PathBuf};

/// A job that could not be done.
#[derive(Debug, thiserror::Error)]
pub(crate) enum XtaskError {
    /// A file or folder could not be used.
    #[error("cannot use `{path}`: {source}")]
    File {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A program could not be started.
    #[error("cannot start `{program}`: {source}; install it and try again")]
    Start {
        /// The program.
        program: String,
        /// Why.
        source: std::io::Error,
    },
    /// A program ended with an error.
    #[error("`{program}` failed with {status}: {said}")]
    Failed {
        /// The program.
        program: String,
        /// How it ended.
        status: std::process::ExitStatus,
        /// The end of what it wrote to standard error.
        said: String,
    },
    /// The material could not be written.
    #[error(transparent)]
    Audio(#[from] cupel_audio::AudioError),
    /// A piece could not be made.
    #[error(transparent)]
    Demo(#[from] cupel_demo::DemoError),
    /// Some program gave an answer that could not be read.
    #[error("cannot read the answer of `{program}`: {source}")]
    Answer {
        /// The program.
        program: &'static str,
        /// Why.
        source: serde_json::Error,
    },
    /// A crate without any statement of its licence.
    #[error("`{name} {version}` states no licence: look at its package")]
    NoLicence {
        /// The crate.
        name: String,
        /// Its version.
        version: String,
    },
    /// No compiler with the sources of its library.
    #[error(
        "no compiler for WebAssembly: install Debian's rustc-web and rust-web-src, or name one in \
         CUPEL_WASM_RUSTC"
    )]
    NoToolChain,
    /// The kept module was built from other sources.
    #[error(
        "the kept module is not that of the sources: run `cargo xtask engine` and commit the result"
    )]
    OldModule,
    /// A module renders other bits than the native build.
    #[error("`{module}` differs from the native build at sample {place}")]
    OtherBits {
        /// The module.
        module: PathBuf,
        /// The first sample that differs.
        place: usize,
    },
    /// The file on disk is not what would be written.
    #[error("`{path}` is out of date: run `cargo xtask licences` and commit the result")]
    OutOfDate {
        /// The file.
        path: PathBuf,
    },
}

impl XtaskError {
    /// For `map_err` on file operations.
    pub(crate) fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Self + '_ {
        move |source| Self::File {
            path: path.to_owned(),
            source,
        }
    }
}
