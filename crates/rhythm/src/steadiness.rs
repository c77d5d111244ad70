//! Whether hits lie on one grid all through the file.

use crate::grid_fit::Beats;
use crate::onset_curve::Onsets;
use crate::onset_hits::Hit;

/// Half width around a beat or half beat.
const NEAR_S: f64 = 0.009;
/// Fewest hits a second and in all that make a rhythm.
const FEWEST_A_SECOND: f64 = 0.5;
const FEWEST: usize = 12;
/// Agreement of hits with the grid, 1 all, 0 chance.
const STEADY: f64 = 0.3;

/// What the hits do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// They lie on the grid.
    Steady,
    /// They do not.
    Loose,
    /// There are too few.
    Beatless,
}

/// Kind of the file and, from 0 to 1, how far a steady grid is to be trusted.
pub(crate) fn steadiness(curve: &Onsets, beats: Beats, given: bool) -> (Kind, f64) {
    let strong: Vec<&Hit> = curve.hits.iter().filter(|hit| hit.strength > 1.2).collect();
    let rate = strong.len() as f64 / curve.seconds.max(1e-9);
    if strong.len() < FEWEST || rate < FEWEST_A_SECOND {
        return (Kind::Beatless, 0.0);
    }
    let agreement = agreement(&strong, beats);
    if agreement >= STEADY || given {
        let agreed = ((agreement - 0.1) / 0.3).clamp(0.0, 1.0);
        (Kind::Steady, agreed.min(drums(&strong)))
    } else {
        (Kind::Loose, 0.0)
    }
}

/// How far the hits sound like drums: without any in the upper bands (a bass
/// alone) octave and metre are a guess.
fn drums(strong: &[&Hit]) -> f64 {
    let upper = strong.iter().filter(|hit| hit.band >= 2).count();
    if upper as f64 >= 0.15 * strong.len() as f64 {
        1.0
    } else {
        0.6
    }
}

/// Share of strength near beats and half beats, beyond chance.
pub(crate) fn agreement(hits: &[&Hit], beats: Beats) -> f64 {
    let half = Beats {
        period_s: 0.5 * beats.period_s,
        ..beats
    };
    let near = NEAR_S / half.period_s;
    let (mut on, mut all) = (0.0, 1e-9);
    for hit in hits {
        all += f64::from(hit.strength);
        if half.phase(hit.time_s).abs() < near {
            on += f64::from(hit.strength);
        }
    }
    let chance = (2.0 * near).min(0.9);
    (on / all - chance) / (1.0 - chance)
}
