//! Which candidates are kept: the likeliest first, each weighed beside those
//! already kept.

use crate::candidate::Candidate;
use crate::layer::Layer;
use crate::matching::{LayerFacts, agreement, shared_places};
use crate::sureness::{CONTEXT, alone, beside, calibrated, group, logistic, traits};
use crate::sureness_weights::KEEP;

/// Layers this far under the loudest are left out.
const RANGE_DB: f64 = 24.0;
/// Highest middle of a kick's band.
const KICK_HZ: f64 = 150.0;
/// Less likely candidates are not looked at.
const LEAST: f64 = 0.2;

struct Weighed {
    layer: Layer,
    facts: LayerFacts,
    odds: f64,
    group: usize,
}

/// Keeps what is likely a layer, with its sureness; the surest first.
pub(crate) fn choose(candidates: Vec<(Candidate, Layer)>) -> Vec<Layer> {
    let mut all: Vec<Weighed> = candidates
        .into_iter()
        .map(|(one, layer)| {
            let traits = traits(&one, layer.slots, layer.level_db);
            Weighed {
                odds: alone(&traits, one.origin),
                facts: LayerFacts::from(&layer),
                layer,
                group: group(one.origin),
            }
        })
        .filter(|one| logistic(one.odds) >= LEAST && one.layer.level_db >= -RANGE_DB)
        .collect();
    all.sort_by(|a, b| b.odds.total_cmp(&a.odds));
    let mut kept: Vec<Weighed> = Vec::new();
    for mut one in all {
        let second_kick = is_kick(&one.layer) && kept.iter().any(|other| is_kick(&other.layer));
        if second_kick {
            continue;
        }
        let probability = beside(&context(&one, &kept));
        if probability > f64::from(KEEP) {
            one.layer.sure = calibrated(probability, one.odds, kept.len(), one.group);
            kept.push(one);
        }
    }
    kept.into_iter().map(|one| one.layer).collect()
}

/// A low hit on the first and mostly on beats; a mix has one of them.
fn is_kick(layer: &Layer) -> bool {
    let (places, slots) = (&layer.places, layer.slots.max(1));
    let beats = places
        .iter()
        .filter(|&&place| place % slots % 4 == 0)
        .count();
    let on_one = places.iter().any(|&place| place % slots == 0);
    !layer.sustained && middle(layer) < KICK_HZ.log2() && on_one && 2 * beats >= places.len()
}

fn middle(layer: &Layer) -> f64 {
    0.5 * (layer.band_hz.0.log2() + layer.band_hz.1.log2())
}

fn context(one: &Weighed, kept: &[Weighed]) -> [f64; CONTEXT] {
    let mut context = [0.0; CONTEXT];
    context[0] = one.odds;
    let mut nearest: Option<(f64, &Weighed)> = None;
    for other in kept {
        let agreed = agreement(&one.facts, &other.facts);
        let places = shared_places(&one.facts, &other.facts);
        let near = places * overlap(one.facts.band_hz, other.facts.band_hz);
        context[1] = f64::max(context[1], agreed);
        context[2] += f64::from(u8::from(agreed > 0.0));
        context[8] += f64::from(u8::from(near > 0.4));
        context[9] = f64::max(context[9], places);
        context[10] += f64::from(u8::from(one.group == other.group));
        if nearest.is_none_or(|(most, _)| near > most) {
            nearest = Some((near, other));
        }
    }
    if let Some((near, other)) = nearest {
        let (own, its) = (&one.layer, &other.layer);
        context[3] = near;
        context[4] = near * (middle(own) - middle(its)).abs();
        context[5] = near * (own.wide - its.wide).abs();
        context[6] = near * (own.side - its.side).abs();
        context[7] = near * f64::from(u8::from(own.sustained == its.sustained));
        context[11] = near * (own.level_db - its.level_db) / 10.0;
    }
    context
}

/// Overlap of two bands over the narrower one.
fn overlap(one: (f64, f64), other: (f64, f64)) -> f64 {
    let octaves = |band: (f64, f64)| (band.1 / band.0).log2();
    let shared = octaves((one.0.max(other.0), one.1.min(other.1))).max(0.0);
    shared / octaves(one).min(octaves(other)).max(0.2)
}
