//! `measure --json`.

use cupel_audio::HealthNote;
use cupel_measure::Summary;
use cupel_survey::Measured;
use cupel_work::{Musical, Problem};
use serde::Serialize;

use crate::json::VERSION;
use crate::json::music::MusicFacts;

#[derive(Debug, Serialize)]
pub(crate) struct Document<'a> {
    schema: &'static str,
    version: u32,
    files: Vec<FileFacts<'a>>,
}

impl<'a> Document<'a> {
    pub(crate) fn new(files: Vec<FileFacts<'a>>) -> Self {
        Self {
            schema: "cupel/measure",
            version: VERSION,
            files,
        }
    }
}

/// Facts of one file; `error` says why there are none.
#[derive(Debug, Serialize)]
pub(crate) struct FileFacts<'a> {
    file: String,
    #[serde(flatten)]
    form: Option<Form<'a>>,
    #[serde(flatten)]
    summary: Option<&'a Summary>,
    #[serde(flatten)]
    music: MusicFacts,
    #[serde(flatten)]
    unknown: Option<Unknown>,
    health: &'a [HealthNote],
    error: Option<String>,
    hint: Option<String>,
}

/// The agreed figures of a file that has none.
#[derive(Debug, Default, Serialize)]
struct Unknown {
    sample_rate_hz: Option<u32>,
    channels: Option<usize>,
    seconds: Option<f64>,
    integrated_lufs: Option<f64>,
    loudness_range_lu: Option<f64>,
    max_momentary_lufs: Option<f64>,
    max_short_term_lufs: Option<f64>,
    sample_peak_dbfs: Option<f64>,
    true_peak_dbtp: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Form<'a> {
    container: &'a str,
    encoding: &'a str,
    bits: u32,
    lossy: bool,
    time_reference: Option<u64>,
    content: &'a str,
}

impl<'a> FileFacts<'a> {
    pub(crate) fn of(file: &str, measured: &'a Measured, music: &Musical) -> Self {
        let info = &measured.info;
        Self {
            file: file.to_owned(),
            form: Some(Form {
                container: &info.container,
                encoding: &info.encoding,
                bits: info.bits,
                lossy: info.lossy,
                time_reference: info.time_reference,
                content: &measured.content,
            }),
            summary: Some(&measured.summary),
            music: MusicFacts::of(music),
            unknown: None,
            health: &measured.health,
            error: None,
            hint: None,
        }
    }

    pub(crate) fn failed(problem: &Problem) -> Self {
        Self {
            file: problem.file.clone(),
            form: None,
            summary: None,
            music: MusicFacts::default(),
            unknown: Some(Unknown::default()),
            health: &[],
            error: Some(problem.error.clone()),
            hint: problem.hint.clone(),
        }
    }
}
