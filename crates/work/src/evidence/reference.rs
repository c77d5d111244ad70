//! The reference.

use cupel_audio::Reader;
use cupel_findings::ReferenceFacts;
use cupel_survey::{StretchOf, measure_stretches};

use crate::evidence::{sections, tracks};
use crate::musical::SURE;
use crate::{Assayed, Context, FileState, Musical, WorkError};

pub(super) fn of(
    assayed: &Assayed,
    is_print: bool,
    context: &Context<'_>,
) -> Result<Option<ReferenceFacts>, WorkError> {
    let (Some(file), Some(music)) = (&assayed.surveyed.reference, &assayed.reference_music) else {
        return Ok(None);
    };
    let side = assayed.passages.as_ref().and_then(|p| p.reference.as_ref());
    let bars = assayed.bars.as_ref();
    // Tags that cannot be read are no tags.
    let tags = Reader::open(&file.path).map(|mut reader| reader.tags());
    let tags = tags.unwrap_or_default();
    let of_sections = section_figures(assayed, file, music, context);
    Ok(Some(ReferenceFacts {
        file: tracks::file_facts(file, context)?,
        is_print,
        in_passage: side.map(|side| side.summary.clone()),
        passage_s: side.map(|side| (side.stretch.start_s, side.stretch.end_s)),
        sections: sections::of(&music.form, &file.measured.curve, |start_s, end_s| {
            let mut found = of_sections.iter();
            let of_span = found.find(|((start, end), _)| *start == start_s && *end == end_s);
            of_span.map(|(_, summary)| summary.clone())
        }),
        tempo_bpm: music.grid.tempo_bpm,
        tempo_sure: music.grid.sure_tempo,
        key: sure_key(music),
        bass: music.bass.clone(),
        kick: music.kick.clone(),
        layers: bars
            .and_then(|bars| bars.reference.as_ref())
            .map_or_else(Vec::new, |side| side.layers.clone()),
        pairs: bars.map_or_else(Vec::new, |bars| bars.pairs.clone()),
        year: tags.year,
        genre: tags.genre,
    }))
}

type OfSpan = ((f64, f64), cupel_measure::Summary);

/// What every section of the reference measures; those that cannot be read are left
/// out.
fn section_figures(
    assayed: &Assayed,
    file: &FileState,
    music: &Musical,
    context: &Context<'_>,
) -> Vec<OfSpan> {
    let spans: Vec<(f64, f64)> = music
        .form
        .sections
        .iter()
        .map(|section| (section.start_s, section.end_s))
        .collect();
    let stretches: Vec<StretchOf<'_>> = spans
        .iter()
        .map(|&(start_s, end_s)| StretchOf {
            path: file.path.clone(),
            content: &file.measured.content,
            file_start_frames: 0,
            start_s,
            end_s,
        })
        .collect();
    let rate_hz = assayed.surveyed.sample_rate_hz;
    let measured = measure_stretches(&stretches, rate_hz, context.store);
    let pairs = spans.into_iter().zip(measured);
    pairs
        .filter_map(|(span, summary)| Some((span, summary.ok()?)))
        .collect()
}

/// The key in words, where it is sure.
pub(super) fn sure_key(music: &Musical) -> Option<String> {
    let key = music.key.key.filter(|_| music.key.sure >= SURE)?;
    Some(key.to_string())
}
