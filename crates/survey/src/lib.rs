//! From files to features: finds the files and measures them in parallel, once.
//!
//! What was measured is kept by content in the store; a file that is there
//! already is hashed and not decoded again, and one that the system calls unchanged is
//! not even hashed.

mod content;
mod error;
mod folder;
mod heard;
mod measured;
mod stretch;

pub use error::SurveyError;
pub use folder::{Found, find_audio, natural_order};
pub use heard::{HEARD_VERSION, Heard, Listener};
pub use measured::{Measured, bands_of, heard_of, measure_file, measure_files};
pub use stretch::{StretchOf, measure_stretch, measure_stretches};
