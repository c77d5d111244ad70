//! How likely a candidate is a layer: by itself, then beside those already kept.
//!
//! Both are logistic functions; their weights were fitted by `fit/fit.py` on
//! made sessions of seeds below 1000.

use crate::candidate::Candidate;
use crate::struck::{STRUCK, TOGETHER};
use crate::sureness_weights::{
    ALONE, ALONE_BIAS, BESIDE, BESIDE_BIAS, BY_GROUP, BY_ORIGIN, SURE, SURE_BIAS, SURE_BY_GROUP,
};
use crate::zones::ZONES;

/// Numbers that speak for a candidate.
pub(crate) const TRAITS: usize = 20;
/// Kinds of searches that are weighed apart.
pub(crate) const GROUPS: usize = 16;
/// All searches.
pub(crate) const ORIGINS: usize = 50;
/// Numbers about a candidate beside those kept.
pub(crate) const CONTEXT: usize = 12;

/// No layer is called surer: above this, trials did not bear sureness out.
const MOST_SURE: f64 = 0.89;
/// Group of every zone.
const ZONE_GROUPS: [usize; ZONES.len()] = [0, 1, 2, 2, 3, 4, 4, 5, 5, 5, 6, 6, 6, 6];

/// Which kind of search a candidate comes from.
pub(crate) fn group(origin: usize) -> usize {
    if origin < ZONES.len() {
        ZONE_GROUPS[origin]
    } else if origin < STRUCK {
        ZONE_GROUPS[TOGETHER[origin - ZONES.len()][0]]
    } else {
        (7 + origin - STRUCK).min(GROUPS - 1)
    }
}

/// What speaks for a candidate, in numbers of the order of 1.
pub(crate) fn traits(one: &Candidate, slots: usize, level_db: f64) -> [f64; TRAITS] {
    let (low, high) = one.band_hz;
    let places = &one.pattern.places;
    let count = places.len().max(1) as f64;
    let share = |test: &dyn Fn(usize) -> bool| {
        places.iter().filter(|&&place| test(place % slots)).count() as f64 / count
    };
    [
        level_db / 10.0,
        one.fit,
        one.own,
        one.contrast,
        one.played,
        one.elsewhere,
        one.kept[0],
        one.kept[1],
        one.wide,
        one.side.abs(),
        (high / low).log2(),
        (low * high).sqrt().log2() - 9.5,
        count / (one.pattern.bars * slots) as f64,
        f64::from(u8::from(one.pattern.bars > 1)),
        share(&|place| place % 4 == 0),
        share(&|place| place % 4 == 2),
        share(&|place| place % 8 == 4),
        low.log2() - 8.5,
        high.log2() - 10.5,
        one.length_ms.log2() - 7.0,
    ]
}

/// Log odds that a candidate is like some layer.
pub(crate) fn alone(traits: &[f64; TRAITS], origin: usize) -> f64 {
    let origin = origin.min(ORIGINS - 1);
    let own = &BY_GROUP[group(origin)];
    let sum: f64 = traits
        .iter()
        .zip(ALONE.iter().zip(own))
        .map(|(x, (all, own))| x * (f64::from(*all) + f64::from(*own)))
        .sum();
    (f64::from(ALONE_BIAS) + f64::from(BY_ORIGIN[origin]) + sum).clamp(-9.2, 9.2)
}

/// Probability that a candidate is a layer not yet kept, from its log odds alone
/// and what it has in common with those kept.
pub(crate) fn beside(context: &[f64; CONTEXT]) -> f64 {
    let odds: f64 = context
        .iter()
        .zip(&BESIDE)
        .map(|(x, weight)| x * f64::from(*weight))
        .sum();
    logistic(odds + f64::from(BESIDE_BIAS))
}

/// Sureness of a kept layer, as it turned out in trials: from its probability
/// beside the others, its log odds alone, how many were kept before it, and its
/// group.
pub(crate) fn calibrated(probability: f64, odds: f64, before: usize, group: usize) -> f64 {
    let p = probability.clamp(1e-4, 1.0 - 1e-4);
    let [by_beside, by_alone, by_rank] = SURE.map(f64::from);
    let sum = by_beside * (p / (1.0 - p)).ln() + by_alone * odds + by_rank * before as f64 / 10.0;
    let own = f64::from(SURE_BIAS) + f64::from(SURE_BY_GROUP[group.min(GROUPS - 1)]);
    logistic(sum + own).min(MOST_SURE)
}

pub(crate) fn logistic(odds: f64) -> f64 {
    1.0 / (1.0 + (-odds).exp())
}
