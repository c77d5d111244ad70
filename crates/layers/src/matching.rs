//! When a layer found is a layer that is there.
//!
//! The rule, over plain facts of both (see the crate's page):
//!
//! 1. **Places**: written out over the same number of bars, the places in common
//!    are at least half of the places of either.
//! 2. **Band**: the overlap in octaves is at least half of the narrower band and a
//!    quarter of the wider one.
//! 3. **Side**: they differ by 0.35 at most.

use serde::{Deserialize, Serialize};

use crate::layer::Layer;

/// Share of the places of each that both must have.
const PLACES: f64 = 0.5;
const OF_NARROWER: f64 = 0.5;
const OF_WIDER: f64 = 0.25;
/// Difference of sides that still agrees.
const SIDE: f64 = 0.35;

/// What the rule looks at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LayerFacts {
    /// Sixteenths from 0 within `pattern_bars` bars.
    pub places: Vec<usize>,
    /// Bars after which the places repeat.
    pub pattern_bars: usize,
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Low and high edge, Hz.
    pub band_hz: (f64, f64),
    /// -1 left to 1 right.
    pub side: f64,
}

impl From<&Layer> for LayerFacts {
    fn from(layer: &Layer) -> Self {
        Self {
            places: layer.places.clone(),
            pattern_bars: layer.pattern_bars,
            slots: layer.slots,
            band_hz: layer.band_hz,
            side: layer.side,
        }
    }
}

impl LayerFacts {
    /// Whether it plays, by sixteenth, over so many bars.
    fn plays(&self, bars: usize) -> Vec<bool> {
        let own = self.slots * self.pattern_bars;
        let mut plays = vec![false; self.slots * bars];
        for &place in self.places.iter().filter(|&&place| place < own) {
            let mut at = place;
            while at < plays.len() {
                plays[at] = true;
                at += own;
            }
        }
        plays
    }
}

/// Smaller of the shares of places in common, 0 to 1; 0 where a bar has not the
/// same number of sixteenths.
pub fn shared_places(one: &LayerFacts, other: &LayerFacts) -> f64 {
    if one.slots != other.slots || one.slots == 0 {
        return 0.0;
    }
    let bars = one.pattern_bars.max(1) * other.pattern_bars.max(1);
    let (one, other) = (one.plays(bars), other.plays(bars));
    let count = |plays: &[bool]| plays.iter().filter(|&&on| on).count();
    let both = one.iter().zip(&other).filter(|(a, b)| **a && **b).count();
    both as f64 / count(&one).max(count(&other)).max(1) as f64
}

/// Overlap in octaves over the narrower and over the wider band.
fn shared_band(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    let octaves = |low: f64, high: f64| (high / low).log2();
    let overlap = octaves(one.0.max(other.0), one.1.min(other.1)).max(0.0);
    let (a, b) = (octaves(one.0, one.1), octaves(other.0, other.1));
    (overlap / a.min(b).max(0.05), overlap / a.max(b).max(0.05))
}

/// How well two layers agree, 0 to 1; above 0 only where the rule holds.
pub fn agreement(one: &LayerFacts, other: &LayerFacts) -> f64 {
    let places = shared_places(one, other);
    let (narrower, wider) = shared_band(one.band_hz, other.band_hz);
    let apart = (one.side - other.side).abs();
    if places < PLACES || narrower < OF_NARROWER || wider < OF_WIDER || apart > SIDE {
        return 0.0;
    }
    places * (0.5 + 0.5 * wider.min(1.0)) * (1.0 - apart)
}

/// Whether a found layer is the true one.
pub fn layer_matches(found: &LayerFacts, truth: &LayerFacts) -> bool {
    agreement(found, truth) > 0.0
}

/// Pairs of indices that match, each index once, the best agreement first.
pub fn pair_up(found: &[LayerFacts], truths: &[LayerFacts]) -> Vec<(usize, usize)> {
    pair_where(found, truths, |_, _| true)
}

/// The same, of pairs that are allowed.
pub(crate) fn pair_where(
    found: &[LayerFacts],
    truths: &[LayerFacts],
    allowed: impl Fn(usize, usize) -> bool,
) -> Vec<(usize, usize)> {
    let mut all: Vec<(f64, usize, usize)> = Vec::new();
    for (f, one) in found.iter().enumerate() {
        for (t, other) in truths.iter().enumerate() {
            let agreed = agreement(one, other);
            if agreed > 0.0 && allowed(f, t) {
                all.push((agreed, f, t));
            }
        }
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (_, f, t) in all {
        if !pairs.iter().any(|&(pf, pt)| pf == f || pt == t) {
            pairs.push((f, t));
        }
    }
    pairs.sort_unstable();
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(places: &[usize], pattern_bars: usize, band_hz: (f64, f64), side: f64) -> LayerFacts {
        LayerFacts {
            places: places.to_vec(),
            pattern_bars,
            slots: 16,
            band_hz,
            side,
        }
    }

    #[test]
    fn half_the_hits_must_be_in_common() {
        let claps = facts(&[4, 12], 1, (1000.0, 4000.0), 0.0);
        let two = facts(&[4, 12, 28, 20], 2, (1000.0, 4000.0), 0.0);
        assert_eq!(shared_places(&claps, &two), 1.0);
        let busy = facts(&[0, 4, 8, 12], 1, (1000.0, 4000.0), 0.0);
        assert!(layer_matches(&claps, &busy));
        let busier = facts(&[0, 4, 6, 8, 12], 1, (1000.0, 4000.0), 0.0);
        assert!(!layer_matches(&claps, &busier));
    }

    #[test]
    fn another_band_or_side_is_another_layer() {
        let hat = facts(&[2, 6, 10, 14], 1, (6000.0, 12000.0), 0.0);
        let high = facts(&[2, 6, 10, 14], 1, (7000.0, 16000.0), 0.1);
        let bass = facts(&[2, 6, 10, 14], 1, (50.0, 100.0), 0.0);
        let right = facts(&[2, 6, 10, 14], 1, (6000.0, 12000.0), 0.5);
        assert!(layer_matches(&hat, &high));
        assert!(!layer_matches(&hat, &bass));
        assert!(!layer_matches(&hat, &right));
        assert_eq!(pair_up(&[bass, hat], &[right, high]), [(1, 1)]);
    }
}
