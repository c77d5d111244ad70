//! What can go wrong with an audio file.

use std::io;
use std::path::{Path, PathBuf};

/// An audio file that cannot be read or written. Every variant carries the path.
#[derive(Debug, thiserror::Error)]
pub enum AudioError {
    /// The system refused to open, read or seek.
    #[error("cannot read `{path}`: {source}", path = path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Not a format that is known here.
    #[error("cannot read `{path}`: this is not a known audio format", path = path.display())]
    Unknown {
        /// The file.
        path: PathBuf,
    },
    /// A known format that is not read.
    #[error("cannot read `{path}`: {what} is not supported", path = path.display())]
    Unsupported {
        /// The file.
        path: PathBuf,
        /// The container or coding, as people call it.
        what: String,
    },
    /// More channels than two.
    #[error("cannot read `{path}`: it has {channels} channels, one or two are allowed", path = path.display())]
    Channels {
        /// The file.
        path: PathBuf,
        /// Channels that the header gives.
        channels: usize,
    },
    /// A header without channels.
    #[error("cannot read `{path}`: its header gives no channels", path = path.display())]
    NoChannels {
        /// The file.
        path: PathBuf,
    },
    /// A sample rate that no sound is kept at.
    #[error(
        "cannot read `{path}`: its header gives a sample rate of {sample_rate_hz} Hz, {low} to {high} Hz are allowed",
        path = path.display(), low = crate::info::LOWEST_RATE_HZ, high = crate::info::HIGHEST_RATE_HZ
    )]
    Rate {
        /// The file.
        path: PathBuf,
        /// The rate that the header gives.
        sample_rate_hz: u32,
    },
    /// A file without a single frame.
    #[error("cannot read `{path}`: it holds no sound", path = path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// The file contradicts itself so far that nothing can be read.
    #[error("cannot read `{path}`: {reason}", path = path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What does not fit.
        reason: String,
    },
    /// The disk is full.
    #[error("cannot write `{path}`: the disk is full", path = path.display())]
    DiskFull {
        /// The file that was to be written.
        path: PathBuf,
    },
    /// The system refused to write.
    #[error("cannot write `{path}`: {source}", path = path.display())]
    Write {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A block whose shape is not that of the file being written.
    #[error(
        "cannot write `{path}`: given {given} channels, allowed {allowed}, all of one length",
        path = path.display()
    )]
    Shape {
        /// The file that was to be written.
        path: PathBuf,
        /// Channels in the block.
        given: usize,
        /// Channels of the file.
        allowed: usize,
    },
}

impl AudioError {
    /// How to mend it, in a line for people; `None` where the message says all.
    pub fn hint(&self) -> Option<String> {
        let name = file_name(self.path());
        match self {
            AudioError::Read { source, .. } => read_hint(source, &name),
            AudioError::Unknown { .. } | AudioError::Unsupported { .. } => {
                Some(format!("export `{name}` as WAV (24-bit or 32-bit float)"))
            }
            AudioError::Channels { .. } => Some(format!(
                "export `{name}` as a stereo or mono file, one file per pair"
            )),
            AudioError::NoChannels { .. } | AudioError::Rate { .. } => Some(format!(
                "export `{name}` again as WAV, at the session's sample rate"
            )),
            AudioError::Empty { .. } => Some(format!(
                "export `{name}` again with the whole session as range, or leave the file out"
            )),
            AudioError::Damaged { .. } => {
                Some(format!("export `{name}` again, or copy it once more"))
            }
            AudioError::DiskFull { .. } => {
                Some("free some space, then run the command again; nothing was replaced".into())
            }
            AudioError::Write { .. } => {
                Some("check that the folder exists and may be written to".into())
            }
            AudioError::Shape { .. } => None,
        }
    }

    /// The file in question.
    pub fn path(&self) -> &Path {
        match self {
            AudioError::Read { path, .. }
            | AudioError::Unknown { path }
            | AudioError::Unsupported { path, .. }
            | AudioError::Channels { path, .. }
            | AudioError::NoChannels { path }
            | AudioError::Rate { path, .. }
            | AudioError::Empty { path }
            | AudioError::Damaged { path, .. }
            | AudioError::DiskFull { path }
            | AudioError::Write { path, .. }
            | AudioError::Shape { path, .. } => path,
        }
    }

    /// Wraps what the system said while writing; a full disk is told apart.
    pub(crate) fn write(path: &Path, source: io::Error) -> Self {
        let path = path.to_path_buf();
        match source.kind() {
            io::ErrorKind::StorageFull
            | io::ErrorKind::QuotaExceeded
            | io::ErrorKind::FileTooLarge => AudioError::DiskFull { path },
            _ => AudioError::Write { path, source },
        }
    }

    /// Wraps what the system said while reading.
    pub(crate) fn read(path: &Path, source: io::Error) -> Self {
        AudioError::Read {
            path: path.to_path_buf(),
            source,
        }
    }

    /// A file that contradicts itself.
    pub(crate) fn damaged(path: &Path, reason: impl Into<String>) -> Self {
        AudioError::Damaged {
            path: path.to_path_buf(),
            reason: reason.into(),
        }
    }

    /// A format that is known and not read.
    pub(crate) fn unsupported(path: &Path, what: impl Into<String>) -> Self {
        AudioError::Unsupported {
            path: path.to_path_buf(),
            what: what.into(),
        }
    }
}

fn read_hint(source: &io::Error, name: &str) -> Option<String> {
    match source.kind() {
        io::ErrorKind::NotFound => Some(format!(
            "was `{name}` moved or renamed? put it back, or run `cupel open` again"
        )),
        io::ErrorKind::PermissionDenied => Some(format!("allow yourself to read `{name}`")),
        _ => None,
    }
}

/// The last part of a path, for messages.
pub(crate) fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}
