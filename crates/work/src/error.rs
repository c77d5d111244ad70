//! What ends a step.

use std::path::PathBuf;

use cupel_audio::AudioError;
use cupel_render::RenderError;
use cupel_session::SessionError;
use cupel_store::StoreError;
use cupel_survey::SurveyError;
use cupel_trust::TrustError;

/// A failure that ends a step. Files are named as they were given, or by their
/// last part.
#[derive(Debug, thiserror::Error)]
pub enum WorkError {
    /// The path given leads nowhere.
    #[error("cannot find `{path}`")]
    NotFound {
        /// The path.
        path: PathBuf,
    },
    /// A folder without audio files.
    #[error("there is no audio file in `{path}`")]
    NoAudio {
        /// The folder.
        path: PathBuf,
        /// Subfolders that hold some, and how many.
        folders: Vec<(PathBuf, usize)>,
    },
    /// None of the files could be used.
    #[error("none of the {count} audio files in `{path}` can be used")]
    NoneUsable {
        /// The folder.
        path: PathBuf,
        /// How many there are.
        count: usize,
    },
    /// The session names a reference or bounce that is not there.
    #[error("cannot find the {what} `{file}` that the session names")]
    Missing {
        /// `reference` or `rough bounce`.
        what: &'static str,
        /// The file as written in the session.
        file: String,
    },
    /// The session names a file that cannot be used.
    #[error("cannot use the {what}: {source}")]
    Unusable {
        /// `reference` or `rough bounce`.
        what: &'static str,
        /// Why.
        source: Box<SurveyError>,
    },
    /// The one file belongs to a session of several.
    #[error("`{session}` beside `{file}` is a session of other files")]
    OtherSession {
        /// The session file.
        session: String,
        /// The file given.
        file: String,
    },
    /// The tracks do not add up to the bounce, so that no balance can be judged.
    #[error("cannot judge the balance: {sentence}")]
    CannotJudge {
        /// The verdict on the tracks.
        sentence: String,
        /// How to export so that it can be judged.
        how_to_export: Option<String>,
    },
    /// A step needs a reference and there is none.
    #[error("the session has no reference")]
    NoReference,
    /// A step needs beats and bars and they cannot be told.
    #[error("cannot tell the beats and bars of the {which}")]
    NoGrid {
        /// `session` or `reference`.
        which: &'static str,
    },
    /// There is no passage that sounds.
    #[error("the passage of the {which} is silent")]
    NothingToLoop {
        /// `session` or `reference`.
        which: &'static str,
    },
    /// Stretching the reference.
    #[error("cannot stretch the reference: {0}")]
    Stretch(#[from] cupel_stretch::StretchError),
    /// The session file.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// Finding and measuring files.
    #[error(transparent)]
    Survey(#[from] SurveyError),
    /// Reading audio.
    #[error(transparent)]
    Audio(#[from] AudioError),
    /// Comparing the tracks with the bounce.
    #[error(transparent)]
    Trust(#[from] TrustError),
    /// Rendering.
    #[error(transparent)]
    Render(#[from] RenderError),
    /// The cache.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An output could not be written.
    #[error("cannot write `{path}`: {source}")]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}

impl WorkError {
    /// How to mend it, where that is known.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::NotFound { .. } => {
                Some("check the spelling, or give a folder of exported tracks".into())
            }
            Self::NoAudio { folders, .. } => Some(match folders.as_slice() {
                [] => "export every track of the session as a WAV file into this folder".into(),
                [(folder, count), ..] => format!(
                    "subfolders are not searched; `{}` holds {count} audio files: open that folder",
                    folder.display()
                ),
            }),
            Self::NoneUsable { .. } => Some("export them again as 24-bit WAV".into()),
            Self::Missing { what, .. } if *what == "reference" => Some(
                "put the file back, or name another: cupel open FOLDER --reference FILE".into(),
            ),
            Self::Missing { .. } => {
                Some("put the file back, or name another: cupel open FOLDER --rough FILE".into())
            }
            Self::Unusable { source, .. } => source.hint(),
            Self::OtherSession { .. } => {
                Some("give the new session a file of its own: --session NAME.toml".into())
            }
            Self::CannotJudge { how_to_export, .. } => Some(match how_to_export {
                Some(how) => format!("{how}; or go on at your own risk with --anyway"),
                None => "export the tracks again, or go on at your own risk with --anyway".into(),
            }),
            Self::NoReference => Some("name one: cupel open FOLDER --reference FILE".into()),
            Self::NoGrid { which } => {
                let table = if *which == "session" {
                    "[music]"
                } else {
                    "[reference.music]"
                };
                Some(format!(
                    "set tempo_bpm and downbeat_s under {table} in the session file"
                ))
            }
            Self::NothingToLoop { which } => {
                let table = if *which == "session" {
                    "[passage]"
                } else {
                    "[reference.passage]"
                };
                Some(format!(
                    "set start_s and end_s under {table} in the session file"
                ))
            }
            Self::Survey(error) => error.hint(),
            Self::Audio(error) => error.hint(),
            Self::Render(error) => error.hint(),
            _ => None,
        }
    }
}
