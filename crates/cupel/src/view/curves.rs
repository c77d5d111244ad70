//! What the report draws: spectra and loudness over time.

use cupel_compare::Spectrum;
use cupel_measure::{LoudnessCurve, Summary};
use cupel_report::{LoudnessView, Owner, SectionMark, SpectrumBand, SpectrumView};
use cupel_units::db_to_power;
use cupel_work::Musical;

use crate::view::State;

/// Loudness curves are drawn once a second.
const DRAWN_HOP_S: f64 = 1.0;

/// Spectra of the passages, with the tracks that own each band.
pub(crate) fn spectrum(state: &State<'_>) -> Option<SpectrumView> {
    let passages = state.assayed.passages.as_ref()?;
    let before = Spectrum::of(&passages.mix)?;
    let after = state.after.and_then(|a| Spectrum::of(a.passage.as_ref()?));
    let reference = passages
        .reference
        .as_ref()
        .and_then(|r| Spectrum::of(&r.summary));
    let bands = passages
        .mix
        .third_octaves
        .iter()
        .enumerate()
        .map(|(index, band)| {
            let level = |spectrum: &Spectrum| spectrum.level_db.get(index).copied().flatten();
            SpectrumBand {
                low_hz: band.low_hz,
                high_hz: band.high_hz,
                before_db: level(&before),
                after_db: after.as_ref().and_then(level),
                reference_db: reference.as_ref().and_then(level),
                owners: owners(state, &passages.tracks, index),
            }
        })
        .collect();
    Some(SpectrumView {
        title_sentence: String::new(),
        bands,
    })
}

/// Every track's share of a band, with the moves that are on.
fn owners(state: &State<'_>, passages: &[Summary], band: usize) -> Vec<Owner> {
    let session = &state.assayed.surveyed.session;
    let powers: Vec<(&str, f64)> = state
        .assayed
        .plan
        .tracks
        .iter()
        .zip(passages)
        .filter_map(|(track, summary)| {
            let level_db = summary.third_octaves.get(band)?.level_dbfs?;
            let gain_db = if state.after.is_some() {
                session.net_gain_db(&track.id)
            } else {
                0.0
            };
            Some((track.id.as_str(), db_to_power(level_db + gain_db)))
        })
        .collect();
    let sum: f64 = powers.iter().map(|(_, power)| power).sum();
    powers
        .into_iter()
        .map(|(id, power)| Owner {
            track: state.name_of(id),
            share: power / sum,
        })
        .collect()
}

/// Loudness over time, before, after and the reference's.
pub(crate) fn loudness(state: &State<'_>) -> Option<LoudnessView> {
    let passages = state.assayed.passages.as_ref()?;
    let side = passages.reference.as_ref();
    let reference = state.assayed.surveyed.reference.as_ref();
    let newest = state
        .after
        .and_then(|a| a.passage.as_ref())
        .unwrap_or(&passages.mix);
    let gain = side
        .and_then(|side| side.summary.integrated_lufs)
        .zip(newest.integrated_lufs)
        .map_or(0.0, |(reference, mix)| mix - reference);
    Some(LoudnessView {
        sentence: String::new(),
        hop_s: DRAWN_HOP_S,
        before: drawn(&state.assayed.mix.curve),
        after: state.after.map(|a| drawn(&a.mix.curve)),
        reference: reference.map(|file| drawn(&file.measured.curve)),
        reference_gain_db: gain,
        passage_s: Some((passages.stretch.start_s, passages.stretch.end_s)),
        reference_passage_s: side.map(|side| (side.stretch.start_s, side.stretch.end_s)),
        sections: sections(&state.assayed.music),
        reference_sections: state
            .assayed
            .reference_music
            .as_ref()
            .map_or_else(Vec::new, sections),
    })
}

fn sections(music: &Musical) -> Vec<SectionMark> {
    let sections = music.form.sections.iter();
    sections
        .map(|section| SectionMark {
            label: section.name.name().to_owned(),
            start_s: section.start_s,
        })
        .collect()
}

/// Short-term loudness once a second.
fn drawn(curve: &LoudnessCurve) -> Vec<Option<f64>> {
    let step = (DRAWN_HOP_S / curve.hop_s).round().max(1.0) as usize;
    curve
        .short_term_lufs
        .iter()
        .step_by(step)
        .map(|&lufs| Some(f64::from(lufs)).filter(|lufs| lufs.is_finite()))
        .collect()
}
