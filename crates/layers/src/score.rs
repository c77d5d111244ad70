//! Layers found against layers known: for trials.

use serde::{Deserialize, Serialize};

use crate::matching::{LayerFacts, pair_up};

/// A layer that is there: one element, and its tracks where it has several.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrueLayer {
    /// All of it.
    pub whole: LayerFacts,
    /// Its tracks one by one; none where it is a single track.
    pub parts: Vec<LayerFacts>,
    /// Level against the loudest element.
    pub level_db: f64,
}

/// What a trial counts.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LayerScore {
    /// True layers within the range asked for.
    pub known: usize,
    /// Of those, how many were found.
    pub known_found: usize,
    /// Layers found.
    pub found: usize,
    /// Whether each layer found is real.
    pub real: Vec<bool>,
}

/// Pairs layers found with true ones. A true layer counts as found where a layer
/// found matches it or one of its tracks; a layer found is real where it matches
/// a true layer of any level or one of its tracks. Nothing is matched twice, and
/// a true layer makes no more layers found real than it has tracks.
pub fn score_layers(found: &[LayerFacts], truths: &[TrueLayer], range_db: f64) -> LayerScore {
    let mut targets: Vec<LayerFacts> = Vec::new();
    let mut owner: Vec<usize> = Vec::new();
    for (index, truth) in truths.iter().enumerate() {
        targets.push(truth.whole.clone());
        owner.push(index);
        for part in &truth.parts {
            targets.push(part.clone());
            owner.push(index);
        }
    }
    let mut real = vec![false; found.len()];
    let mut claimed = vec![0usize; truths.len()];
    for (f, target) in pair_up(found, &targets) {
        let truth = owner[target];
        if claimed[truth] < truths[truth].parts.len().max(1) {
            claimed[truth] += 1;
            real[f] = true;
        }
    }
    let known = |truth: &&TrueLayer| truth.level_db >= -range_db;
    LayerScore {
        known: truths.iter().filter(known).count(),
        known_found: truths
            .iter()
            .zip(&claimed)
            .filter(|(truth, claimed)| known(truth) && **claimed > 0)
            .count(),
        found: found.len(),
        real,
    }
}
