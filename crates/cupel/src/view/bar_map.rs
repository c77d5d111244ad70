//! The bar map and the layers as the report shows them.

use cupel_barmap::{ComparedRow, Owners, RowName};
use cupel_layers::{Layer, LayerPair, Verdict};
use cupel_report::{BarMapRow, BarMapView, LayerRow, Owner};
use cupel_work::Bars;

use crate::view::{State, shown_name};

/// Mix, reference, difference and owners over the bar.
pub(crate) fn bar_map(state: &State<'_>) -> Option<BarMapView> {
    let bars = state.assayed.bars.as_ref()?;
    let comparison = bars.comparison.as_ref()?;
    let slots = comparison.slots;
    let rows = comparison.rows.iter().enumerate();
    Some(BarMapView {
        sentence: String::new(),
        beats: bars.mix.lines.beats_per_bar,
        reference_beats: bars.reference.as_ref().map(|side| side.lines.beats_per_bar),
        rows: rows
            .map(|(index, row)| BarMapRow {
                label: row.name.words(),
                by_note: row.name.is_by_note(),
                mix_db: row.mix_db.clone(),
                reference_db: row.reference_db.clone(),
                difference_db: row.difference_db.clone(),
                arrangement: arrangement(bars, row, slots),
                whole_db: row.whole_db,
                owners: owners(state, &bars.owners, index, slots),
            })
            .collect(),
    })
}

/// In which sixteenths another layer plays in the row's band.
fn arrangement(bars: &Bars, row: &ComparedRow, slots: usize) -> Vec<bool> {
    let RowName::Band { low_hz, high_hz } = row.name else {
        return Vec::new();
    };
    let centre_hz = (low_hz * high_hz).sqrt();
    let in_band = bars
        .arrangement
        .iter()
        .filter(|band| (band.low_hz..=band.high_hz).contains(&centre_hz))
        .flat_map(|band| &band.pairs)
        .filter_map(|&pair| bars.pairs.get(pair));
    let mut marks = vec![false; slots];
    for pair in in_band {
        for layer in layers_of(bars, pair).into_iter().flatten() {
            if (layer.band_hz.0..=layer.band_hz.1).contains(&centre_hz) && layer.slots == slots {
                layer.places.iter().for_each(|place| {
                    if let Some(mark) = marks.get_mut(place % slots.max(1)) {
                        *mark = true;
                    }
                });
            }
        }
    }
    marks
}

fn layers_of<'a>(bars: &'a Bars, pair: &LayerPair) -> [Option<&'a Layer>; 2] {
    let reference = bars.reference.as_ref();
    [
        pair.session.and_then(|index| bars.mix.layers.get(index)),
        pair.reference
            .and_then(|index| reference?.layers.get(index)),
    ]
}

fn owners(
    state: &State<'_>,
    owners: &Owners<String>,
    row: usize,
    slots: usize,
) -> Vec<Option<Owner>> {
    let cells = owners.cells.get(row * slots..(row + 1) * slots);
    let named = |id: &str| {
        let tracks = &state.assayed.surveyed.session.tracks;
        let track = tracks.iter().find(|track| track.id == id);
        track.map_or_else(|| id.to_owned(), |track| shown_name(&track.file))
    };
    cells
        .unwrap_or(&[])
        .iter()
        .map(|cell| {
            cell.as_ref().map(|owner| Owner {
                track: named(&owner.id),
                share: owner.share,
            })
        })
        .collect()
}

/// The layers of both sides, in words.
pub(crate) fn layers(state: &State<'_>) -> Vec<LayerRow> {
    let Some(bars) = &state.assayed.bars else {
        return Vec::new();
    };
    if bars.reference.is_none() {
        return bars
            .mix
            .layers
            .iter()
            .map(|layer| LayerRow {
                standing: "in the session".into(),
                reference: None,
                session: Some(words(layer)),
            })
            .collect();
    }
    bars.pairs
        .iter()
        .map(|pair| {
            let [session, reference] = layers_of(bars, pair);
            LayerRow {
                standing: standing(pair),
                reference: reference.map(words),
                session: session.map(words),
            }
        })
        .collect()
}

/// Layers below this are more often wrong than a reader would take them for.
const NEARLY_SURE: f64 = 0.8;

fn standing(pair: &LayerPair) -> String {
    let words = match pair.verdict {
        Verdict::Shared => "in both",
        Verdict::Missing => "only in the reference",
        Verdict::Extra => "only in the session",
        Verdict::Different => "in both, not alike",
    };
    let unsure = pair.verdict != Verdict::Shared && pair.sure < NEARLY_SURE;
    format!("{words}{}", if unsure { " (not sure)" } else { "" })
}

fn words(layer: &Layer) -> String {
    match &layer.id {
        // Most names begin with what the element is called: it is said once.
        Some(id) if !layer.name.starts_with(id.as_str()) => format!("{id}: {}", layer.name),
        _ => layer.name.clone(),
    }
}
