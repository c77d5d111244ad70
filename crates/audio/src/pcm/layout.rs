//! Where uncompressed sound lies in a file, and notes on headers that are wrong.

use std::path::Path;

use super::format::Format;
use crate::error::file_name;
use crate::note::{HealthCode, HealthGrade, HealthNote};

/// Where the sound lies and what the header says of it.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    /// `WAV`, `RF64`, `BW64` or `AIFF`.
    pub(crate) container: &'static str,
    pub(crate) format: Format,
    /// First byte of the sound.
    pub(crate) data_offset: u64,
    /// Whole frames that are really there.
    pub(crate) frames: u64,
    pub(crate) time_reference: Option<u64>,
    pub(crate) notes: Vec<HealthNote>,
}

/// The note on a file that ends before its header says.
pub(crate) fn truncated(path: &Path, promised_s: f64, held_s: f64) -> HealthNote {
    let name = file_name(path);
    let text = format!(
        "the header promises {promised_s:.2} s, the file holds {held_s:.2} s; export `{name}` again, or copy it once more"
    );
    HealthNote::new(HealthCode::Truncated, HealthGrade::Mend, text)
        .at(held_s)
        .with_value(promised_s - held_s, "s")
}

/// The note on a header that contradicts the bytes.
pub(super) fn lying(path: &Path, what: &str) -> HealthNote {
    let name = file_name(path);
    let text = format!("`{name}`: {what}; export it again if it sounds wrong or stops early");
    HealthNote::new(HealthCode::LyingHeader, HealthGrade::Look, text)
}
