//! Measured features on disk, by content, with a size limit.
