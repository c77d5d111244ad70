//! What can go wrong while the tracks are compared with the bounce.

/// Error of this crate.
#[derive(Debug, thiserror::Error)]
pub enum TrustError {
    /// A track or the bounce could not be opened or read.
    #[error("cannot read `{file}`: {reason}")]
    Read {
        /// Name of the file as the caller gave it.
        file: String,
        /// What the reader said, with its mend.
        reason: String,
    },
    /// The session has a sample rate at which nothing can be compared.
    #[error("the session rate is {given} Hz; it must lie between {lowest} and {highest} Hz")]
    SampleRate {
        /// Rate that was given.
        given: u32,
        /// Lowest rate allowed.
        lowest: u32,
        /// Highest rate allowed.
        highest: u32,
    },
    /// Two tracks carry one id, so that findings could not be told apart.
    #[error("two tracks have the id `{id}`; give each track an id of its own")]
    RepeatedId {
        /// The id that occurs twice.
        id: String,
    },
}
