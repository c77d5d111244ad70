//! What can go wrong with the store.

use std::path::PathBuf;

/// A failure of the store or of hashing a file.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// A file could not be read for its hash.
    #[error("cannot read `{path}`: {source}")]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The store's folder could not be made, listed or written.
    #[error("cannot use the cache folder `{path}`: {source}")]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The platform names no cache folder.
    #[error("this system names no cache folder; give one with --cache DIR")]
    NoFolder,
}
