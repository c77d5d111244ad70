//! The layers of a mix.

use crate::candidate::Candidate;
use crate::choice::choose;
use crate::fold::FoldedSound;
use crate::held::held;
use crate::layer::{Layer, LayerContext, LayerKind};
use crate::naming::{Heard, kind_of, name_of};
use crate::rises::Rises;
use crate::strand::Strand;
use crate::struck::struck;
use crate::sureness::traits;
use crate::turns::turns;

/// Finds the layers of a mix, the loudest first. Silence has none.
pub fn find_layers(mix: &FoldedSound, context: &LayerContext) -> Vec<Layer> {
    let mut layers = choose(candidates(mix, context));
    let loudest = layers
        .iter()
        .map(|layer| layer.level_db)
        .fold(f64::NEG_INFINITY, f64::max);
    for layer in &mut layers {
        layer.level_db -= loudest;
    }
    layers.sort_by(|a, b| b.level_db.total_cmp(&a.level_db));
    layers
}

/// Everything that may be a layer.
fn candidates(mix: &FoldedSound, context: &LayerContext) -> Vec<(Candidate, Layer)> {
    let strand = Strand::of(mix);
    let rises = Rises::of(&strand);
    let mut all = struck(&strand, &rises);
    all.extend(turns(&strand, &rises));
    all.extend(held(&strand));
    let loudest = all.iter().map(|one| one.power).fold(0.0, f64::max);
    all.into_iter()
        .map(|one| {
            let level_db = 10.0 * (one.power / loudest).max(1e-9).log10();
            let heard = Heard {
                pattern: &one.pattern,
                sustained: one.sustained,
                band_hz: one.band_hz,
                length_ms: one.length_ms,
                side: one.side,
                wide: one.wide,
                slots: mix.slots(),
            };
            let layer = layer_of(&heard, kind_of(&heard, context), level_db);
            (one, layer)
        })
        .collect()
}

/// For fitting: every candidate as a layer, its origin, and what speaks for it.
#[doc(hidden)]
pub fn traits_of_candidates(mix: &FoldedSound) -> Vec<(Layer, usize, Vec<f64>)> {
    candidates(mix, &LayerContext::default())
        .into_iter()
        .map(|(one, layer)| {
            let traits = traits(&one, layer.slots, layer.level_db);
            (layer, one.origin, traits.to_vec())
        })
        .collect()
}

/// What was heard, as a layer.
pub(crate) fn layer_of(heard: &Heard<'_>, kind: LayerKind, level_db: f64) -> Layer {
    Layer {
        kind,
        name: name_of(kind, heard),
        id: None,
        places: heard.pattern.places.clone(),
        pattern_bars: heard.pattern.bars,
        slots: heard.slots,
        band_hz: heard.band_hz,
        length_ms: heard.length_ms,
        sustained: heard.sustained,
        side: heard.side,
        wide: heard.wide,
        level_db,
        sure: 1.0,
    }
}
