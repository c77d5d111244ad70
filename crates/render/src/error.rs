//! What can go wrong while rendering.

use std::path::PathBuf;

use cupel_audio::AudioError;
use cupel_measure::MeasureError;
use cupel_process::{DesignError, MixerError};

/// A failure to render.
#[derive(Debug, thiserror::Error)]
pub enum RenderError {
    /// A track could not be read, or an output not be written.
    #[error(transparent)]
    Audio(#[from] AudioError),
    /// A move asks for something no processor can do.
    #[error("cannot render track `{track}`: {source}")]
    Design {
        /// Id of the track.
        track: String,
        /// What is out of range.
        source: DesignError,
    },
    /// The graph could not be built.
    #[error("cannot build the mix: {0}")]
    Mixer(#[from] MixerError),
    /// The session's form cannot be measured.
    #[error("cannot measure the mix: {0}")]
    Measure(#[from] MeasureError),
    /// No track is part of the sum.
    #[error("no track is part of the mix")]
    NoTracks,
    /// An output folder could not be made, or a file not be moved.
    #[error("cannot write `{path}`: {source}")]
    Folder {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A passage of the comparison pair is silent.
    #[error("cannot match loudness: the passage of `{which}` is silent")]
    SilentPassage {
        /// `mix` or `reference`.
        which: &'static str,
    },
}

impl RenderError {
    /// How to mend it, where that is known.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Audio(error) => error.hint(),
            Self::SilentPassage { .. } => {
                Some("set another [passage] in the session file".to_owned())
            }
            _ => None,
        }
    }
}
