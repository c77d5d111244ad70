//! Where the second sixteenth of a pair falls.

use crate::grid_fit::Beats;
use crate::onset_curve::Onsets;

/// Places a second sixteenth may have, in its pair.
const EARLIEST: f64 = 0.44;
const LATEST: f64 = 0.73;
/// Half width over which places are averaged.
const REACH_S: f64 = 0.008;
/// Fewest hits that say something.
const FEWEST: usize = 12;
/// Least share of the strength of all hits in the upper bands.
const LEAST_SHARE: f64 = 0.03;

/// Place of the second sixteenth in its pair, 0.5 straight; `None` where too
/// few are played.
pub(crate) fn swing(curve: &Onsets, beats: Beats) -> Option<f64> {
    let pair_s = 0.5 * beats.period_s;
    let reach = REACH_S / pair_s;
    let pairs = Beats {
        period_s: pair_s,
        ..beats
    };
    let places: Vec<(f64, f64)> = curve
        .hits
        .iter()
        .filter(|hit| hit.band >= 2)
        .map(|hit| {
            (
                pairs.phase(hit.time_s).rem_euclid(1.0),
                f64::from(hit.strength),
            )
        })
        .filter(|(place, _)| (EARLIEST - reach..LATEST + reach).contains(place))
        .collect();
    let weight_near = |centre: f64| -> f64 {
        places
            .iter()
            .map(|(place, weight)| weight * (1.0 - ((place - centre) / reach).powi(2)).max(0.0))
            .sum()
    };
    let steps = ((LATEST - EARLIEST) / 0.004) as usize;
    let start = (0..=steps)
        .map(|step| EARLIEST + 0.004 * step as f64)
        .max_by(|&a, &b| weight_near(a).total_cmp(&weight_near(b)))?;
    let mut centre = start;
    for _ in 0..4 {
        let (mut sum, mut total, mut count) = (0.0, 0.0, 0);
        for (place, weight) in &places {
            let near = 1.0 - ((place - centre) / reach).powi(2);
            if near > 0.0 {
                sum += near * weight * place;
                total += near * weight;
                count += 1;
            }
        }
        if count < FEWEST {
            return None;
        }
        centre = sum / total;
    }
    let all: f64 = curve
        .hits
        .iter()
        .filter(|hit| hit.band >= 2)
        .map(|hit| f64::from(hit.strength))
        .sum();
    let gathered = weight_near(centre) > LEAST_SHARE * all;
    (gathered && (EARLIEST..=LATEST).contains(&centre)).then_some(centre)
}
