//! What the documents say of the passages over their bars.

use cupel_barmap::{BarMap, Comparison, LowReading, Owners};
use cupel_layers::{ArrangementBand, LayerPair};
use cupel_work::{BarSide, Bars};
use serde::Serialize;

/// Bar maps of both sides; levels in dB, see `docs/documents.md`.
#[derive(Debug, Serialize)]
pub(crate) struct BarFacts<'a> {
    mix: Side<'a>,
    reference: Option<Side<'a>>,
    /// Mix less reference at equal loudness.
    comparison: &'a Option<Comparison>,
    /// Whose tracks fill the cells of the comparison.
    owners: &'a Owners<String>,
    elements: Vec<Named<'a>>,
    groups: Vec<Named<'a>>,
    tracks: Vec<Named<'a>>,
}

#[derive(Debug, Serialize)]
struct Side<'a> {
    beats_per_bar: u32,
    bar_starts_s: &'a [f64],
    map: &'a BarMap,
    low: &'a LowReading,
}

#[derive(Debug, Serialize)]
struct Named<'a> {
    name: &'a str,
    map: &'a BarMap,
}

/// How the layers of both sides stand.
#[derive(Debug, Serialize)]
pub(crate) struct LayerFacts<'a> {
    pairs: &'a [LayerPair],
    /// Bands that differ because other things play: no matter of mixing.
    arrangement: &'a [ArrangementBand],
}

impl<'a> BarFacts<'a> {
    pub(crate) fn of(bars: &'a Bars) -> Self {
        let named = |(name, map): &'a (String, BarMap)| Named { name, map };
        Self {
            mix: Side::of(&bars.mix),
            reference: bars.reference.as_ref().map(Side::of),
            comparison: &bars.comparison,
            owners: &bars.owners,
            elements: bars.elements.iter().map(named).collect(),
            groups: bars
                .groups
                .iter()
                .map(|(group, map)| Named {
                    name: group.name(),
                    map,
                })
                .collect(),
            tracks: bars.tracks.iter().map(named).collect(),
        }
    }
}

impl<'a> Side<'a> {
    fn of(side: &'a BarSide) -> Self {
        Self {
            beats_per_bar: side.lines.beats_per_bar,
            bar_starts_s: &side.lines.bar_starts_s,
            map: &side.map,
            low: &side.low,
        }
    }
}

impl<'a> LayerFacts<'a> {
    pub(crate) fn of(bars: &'a Bars) -> Self {
        Self {
            pairs: &bars.pairs,
            arrangement: &bars.arrangement,
        }
    }
}
