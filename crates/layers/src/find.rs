//! The layers of a mix.

use crate::describe::{Description, describe};
use crate::fold::FoldedSound;
use crate::layer::{Layer, LayerContext};
use crate::matching::{LayerFacts, agreement};
use crate::naming::{kind_of, name_of};
use crate::separate::separate;
use crate::strand::Strand;

/// Layers this far under the loudest are left out.
const RANGE_DB: f64 = 24.0;
/// Less sure layers are left out.
const LEAST_SURE: f64 = 0.3;

/// Finds the layers of a mix, the loudest first.
pub fn find_layers(mix: &FoldedSound, context: &LayerContext) -> Vec<Layer> {
    let strands = separate(&Strand::of(mix));
    let found: Vec<Description> = strands.iter().filter_map(describe).collect();
    let loudest = found.iter().map(|one| one.power).fold(0.0, f64::max);
    let mut layers: Vec<Layer> = found
        .iter()
        .map(|one| {
            let level_db = 10.0 * (one.power / loudest).log10();
            layer_of(one, mix.slots(), level_db, context)
        })
        .filter(|layer| layer.level_db > -RANGE_DB && layer.sure >= LEAST_SURE)
        .collect();
    layers.sort_by(|a, b| b.level_db.total_cmp(&a.level_db));
    let mut kept: Vec<Layer> = Vec::new();
    for layer in layers {
        let facts = LayerFacts::from(&layer);
        let again = |other: &Layer| agreement(&facts, &LayerFacts::from(other)) > 0.5;
        if !kept.iter().any(again) {
            kept.push(layer);
        }
    }
    kept
}

/// A description in words and numbers.
pub(crate) fn layer_of(
    one: &Description,
    slots: usize,
    level_db: f64,
    context: &LayerContext,
) -> Layer {
    let kind = kind_of(one, slots, context);
    Layer {
        kind,
        name: name_of(kind, one, slots),
        id: None,
        places: one.pattern.places.clone(),
        pattern_bars: one.pattern.bars,
        slots,
        band_hz: one.band_hz,
        length_ms: one.length_ms,
        sustained: one.sustained,
        side: one.side,
        wide: one.wide,
        level_db,
        sure: sureness(one, level_db),
    }
}

fn sureness(one: &Description, level_db: f64) -> f64 {
    let fit = one.pattern.fit;
    let clear = if one.sustained {
        one.duty
    } else {
        one.struck.min(1.0)
    };
    (0.6 * fit + 0.2 * clear + 0.01 * level_db).clamp(0.05, 0.95)
}
