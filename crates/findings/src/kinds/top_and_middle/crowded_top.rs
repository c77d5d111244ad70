//! More elements at the top than the reference has.

use crate::evidence::{Evidence, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::say::list;

pub(crate) const KIND: Kind = Kind {
    name: "crowded-top",
    family: Family::TopAndMiddle,
    title: "too many elements at the top",
    cause: Cause::Arrangement,
    sizes: Sizes::look("elements", 2.0),
    weight: 0.35,
    brings: &["harsh"],
    unsure: false,
    measures: "How many elements hold a real share above 8 kHz in the busiest passage, against the \
               layers of the reference that reach as high.",
    matters: "The top has room for few: one to three elements. Each further one makes all of them \
              smaller, and the sum turns into noise.",
    threshold: "Look at two elements more than the reference, and never under five of them (common \
                practice, no source).",
    mend: "Choose which of them carries the top, and leave out one of the others, or let them play in \
           turn. Where one only rings along, a darker sound or a filter makes room.",
    wrong: "When the elements answer each other and never sound at once.",
    hear: "The mix through everything above 8 kHz: try to count what plays.",
    train: "Count the sounds above 8 kHz in known records through a filter; it is rarely more than three.",
};

const TOP_HZ: (f64, f64) = (8000.0, 20000.0);
/// An element counts down to this under the strongest one, dB.
const COUNTS_DB: f64 = -10.0;
/// Layers of the reference count down to this under its loudest, dB.
const LAYER_DB: f64 = -20.0;
/// The reference is taken to have this many at least: not all of its layers are found.
const AT_LEAST: usize = 3;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let (Some(passage), Some(reference)) = (&evidence.passage, &evidence.reference) else {
        return Vec::new();
    };
    if reference.layers.is_empty() {
        return Vec::new();
    }
    let bands = passage.bands_within(TOP_HZ.0, TOP_HZ.1);
    let powers: Vec<f64> = passage
        .elements
        .iter()
        .map(|element| passage.in_bands(&element.whole, &bands))
        .collect();
    let most = powers.iter().copied().fold(0.0, f64::max);
    let mut high: Vec<usize> = (0..powers.len())
        .filter(|&element| most > 0.0 && ratio_db(powers[element], most) > COUNTS_DB)
        .collect();
    high.sort_by(|&a, &b| powers[b].total_cmp(&powers[a]).then(a.cmp(&b)));
    let of_reference = reference
        .layers
        .iter()
        .filter(|layer| layer.band_hz.1 > TOP_HZ.0 && layer.level_db > LAYER_DB)
        .count();
    let allowed = of_reference.max(AT_LEAST);
    let over = high.len().saturating_sub(allowed) as f64;
    let Some(grade) = KIND.sizes.grade(over) else {
        return Vec::new();
    };
    let elements: Vec<&str> = high
        .iter()
        .map(|&e| evidence.elements[e].name.as_str())
        .collect();
    let tracks: Vec<usize> = high
        .iter()
        .flat_map(|&element| evidence.elements[element].tracks.iter().copied())
        .collect();
    let words = format!(
        "{} elements share the top above 8 kHz, {of_reference} in the reference: {}.",
        high.len(),
        list(&elements)
    );
    let rows = high.iter().map(|&element| PictureRow {
        name: evidence.elements[element].name.clone(),
        value: ratio_db(powers[element], most),
        meant: true,
    });
    vec![
        Finding::new(&KIND, grade, over, words)
            .on(evidence.ids(&tracks))
            .in_the_mix()
            .at(vec![passage.span_s])
            .in_band(TOP_HZ)
            .against(of_reference as f64, "layers of the reference that reach as high")
            .mend(format!(
                "Let one or two of {} carry the top; leave out one of the others or let them play in \
                 turn.",
                list(&elements)
            ))
            .hear("The mix through everything above 8 kHz: can you count what plays?")
            .sure(0.65)
            .picture(Picture::Bars {
                unit: "dB".into(),
                rows: rows.collect(),
                limit: None,
            }),
    ]
}
