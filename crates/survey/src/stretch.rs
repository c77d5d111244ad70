//! A stretch of a file measured by itself, at the session's rate.

use std::path::PathBuf;

use cupel_audio::TrackReader;
use cupel_measure::{MEASURE_VERSION, Meter, MeterSettings, Summary};
use cupel_store::{Store, hash_of_parts};
use cupel_units::seconds_to_frames;
use rayon::prelude::*;

use crate::SurveyError;

const BLOCK_FRAMES: usize = 1 << 14;
const KIND: &str = "stretch";

/// What to measure.
#[derive(Clone, Debug)]
pub struct StretchOf<'a> {
    /// The file.
    pub path: PathBuf,
    /// Its content hash.
    pub content: &'a str,
    /// Where the file begins in the session, in frames of the session's rate.
    pub file_start_frames: i64,
    /// Start of the stretch, in seconds of the session.
    pub start_s: f64,
    /// End of the stretch, in seconds of the session.
    pub end_s: f64,
}

/// Measures a stretch, or finds it in the store. What lies outside the file is
/// silence.
///
/// # Errors
/// [`SurveyError`] where the file cannot be read.
pub fn measure_stretch(
    stretch: &StretchOf<'_>,
    session_rate_hz: u32,
    store: &Store,
) -> Result<Summary, SurveyError> {
    let place = format!(
        "{session_rate_hz} {} {} {}",
        stretch.file_start_frames, stretch.start_s, stretch.end_s
    );
    let key = hash_of_parts([stretch.content, &place]);
    if let Some(summary) = store.get(KIND, MEASURE_VERSION, &key) {
        return Ok(summary);
    }
    let summary = measure(stretch, session_rate_hz)?;
    let _ = store.put(KIND, MEASURE_VERSION, &key, &summary);
    Ok(summary)
}

/// Measures stretches in parallel; the result stands in their order.
pub fn measure_stretches(
    stretches: &[StretchOf<'_>],
    session_rate_hz: u32,
    store: &Store,
) -> Vec<Result<Summary, SurveyError>> {
    stretches
        .par_iter()
        .with_max_len(1)
        .map(|stretch| measure_stretch(stretch, session_rate_hz, store))
        .collect()
}

fn measure(stretch: &StretchOf<'_>, rate_hz: u32) -> Result<Summary, SurveyError> {
    let mut reader = TrackReader::open(&stretch.path, rate_hz, stretch.file_start_frames)?;
    let channels = if reader.is_mono() { 1 } else { 2 };
    let settings = MeterSettings {
        sample_rate_hz: rate_hz,
        channels,
    };
    let mut meter = Meter::new(settings)
        .map_err(|source| SurveyError::Measure {
            path: stretch.path.clone(),
            source,
        })?
        .without_bands();
    let start = seconds_to_frames(stretch.start_s, rate_hz);
    let mut left_over = seconds_to_frames(stretch.end_s, rate_hz).saturating_sub(start) as usize;
    reader.seek(start)?;
    let (mut left, mut right) = (vec![0.0; BLOCK_FRAMES], vec![0.0; BLOCK_FRAMES]);
    while left_over > 0 {
        let wanted = left_over.min(BLOCK_FRAMES);
        let read = reader.read(&mut left[..wanted], &mut right[..wanted])?;
        left[read..wanted].fill(0.0);
        right[read..wanted].fill(0.0);
        if channels == 1 {
            meter.push(&[&left[..wanted]]);
        } else {
            meter.push(&[&left[..wanted], &right[..wanted]]);
        }
        left_over -= wanted;
    }
    Ok(meter.finish().summary)
}
