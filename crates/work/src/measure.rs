//! Facts of single files, with their music.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use cupel_session::MusicSettings;
use cupel_survey::{Measured, SurveyError, measure_file};
use rayon::prelude::*;

use crate::{Context, Musical, music_of_file};

/// Measures files in parallel and reads their music, with what is known of their
/// tempo. The result stands in the order of `files`.
pub fn measure(
    files: &[PathBuf],
    settings: &MusicSettings,
    context: &Context<'_>,
) -> Vec<Result<(Measured, Musical), SurveyError>> {
    let done = AtomicUsize::new(0);
    files
        .par_iter()
        .with_max_len(1)
        .map(|path| {
            let result = measure_one(path, settings, context);
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            let count = done.fetch_add(1, Ordering::Relaxed) + 1;
            let part = count as f64 / files.len() as f64;
            (context.progress)(part, &format!("measured {name}"));
            result
        })
        .collect()
}

fn measure_one(
    path: &Path,
    settings: &MusicSettings,
    context: &Context<'_>,
) -> Result<(Measured, Musical), SurveyError> {
    let measured = measure_file(path, context.store)?;
    let music = music_of_file(path, &measured, settings, context.store)?;
    Ok((measured, music))
}
