//! What was measured, kept on disk by content, with a size limit.
//!
//! A record is found by its kind, a version and a content hash; deleting any of
//! it, or all, is always safe. A damaged record counts as absent. The records
//! used least recently go first when the store grows over its limit.

mod content;
mod error;
mod folder;

pub use content::{content_hash, hash_of_parts};
pub use error::StoreError;
pub use folder::{Contents, LIMIT_BYTES, Store};
