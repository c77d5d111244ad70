//! What can go wrong while listening.

use cupel_session::SessionError;
use cupel_work::WorkError;

/// Why something cannot be listened to.
#[derive(Debug, thiserror::Error)]
pub enum ListenError {
    /// The session cannot be measured or read.
    #[error(transparent)]
    Work(#[from] WorkError),
    /// The session file cannot be read or written.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// No address on this machine can be bound.
    #[error("cannot open a page on this machine at port {port}")]
    Bind {
        /// The port asked for; 0 for any.
        port: u16,
        /// Why.
        source: std::io::Error,
    },
    /// The server stopped by itself.
    #[error("the page's server stopped")]
    Stopped(#[source] std::io::Error),
    /// The system gives no randomness for the token.
    #[error("the system gives no random numbers")]
    Random(#[source] std::io::Error),
    /// What was heard cannot be kept beside the session.
    #[error("cannot write {path}")]
    Write {
        /// The file.
        path: std::path::PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The session is no longer where it was.
    #[error("{0} is no longer there; put it back and try again")]
    Vanished(std::path::PathBuf),
    /// No such source.
    #[error("there is no source called {0:?}")]
    NoSource(String),
    /// No such move.
    #[error("there is no move called {0:?}")]
    NoMove(String),
    /// The engine in the page cannot play the session as it is now.
    #[error("the tracks are no longer those this page was opened with; it plays them in pieces")]
    NoEngine,
    /// A value that a move cannot have.
    #[error("{0}")]
    Value(String),
}
