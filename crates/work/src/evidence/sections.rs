//! Sections and how loud they are.

use cupel_findings::SectionFacts;
use cupel_form::Form;
use cupel_measure::{LoudnessCurve, Summary, loudness_between};

/// The sections of a form; `figures` gives those of a stretch where they are wanted.
pub(super) fn of(
    form: &Form,
    curve: &LoudnessCurve,
    figures: impl Fn(f64, f64) -> Option<Summary>,
) -> Vec<SectionFacts> {
    let sections = form.sections.iter();
    sections
        .map(|section| {
            let summary = figures(section.start_s, section.end_s);
            SectionFacts {
                name: section.name.name().to_owned(),
                span_s: (section.start_s, section.end_s),
                busiest: section.busiest,
                lufs: loudness_between(curve, section.start_s, section.end_s),
                third_octaves_db: summary.as_ref().map_or_else(Vec::new, third_octaves_db),
            }
        })
        .collect()
}

/// Third octaves less the loudness of the same stretch.
fn third_octaves_db(summary: &Summary) -> Vec<Option<f64>> {
    let bands = summary.third_octaves.iter();
    bands
        .map(|band| band.level_dbfs.zip(summary.integrated_lufs))
        .map(|pair| pair.map(|(level, loudness)| level - loudness))
        .collect()
}
