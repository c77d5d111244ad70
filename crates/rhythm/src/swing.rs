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
/// Share of the hits that is early.
const EARLY: f64 = 0.15;
/// Half width over which they spread.
const SPREAD_S: f64 = 0.011;
/// How early and how late off-beats are believed to be.
const EARLIEST_S: f64 = 0.006;
const LATEST_S: f64 = 0.004;
/// How late the first sixteenth may seem, in seconds.
const LATE_S: f64 = 0.012;

/// Place of the second sixteenth in its pair, 0.5 straight; `None` where too
/// few are played.
///
/// Sounds with a slow attack, shakers above all, seem late, so the place is read
/// where the earliest [`EARLY`] of the hits lie, and held against the same of the
/// off-beats, which are as loose.
pub(crate) fn swing(curve: &Onsets, beats: Beats) -> Option<f64> {
    let pair_s = 0.5 * beats.period_s;
    let pairs = Places::of(curve, beats, pair_s);
    let (second, weight) = pairs.centre(EARLIEST, LATEST, |_| true)?;
    if weight <= LEAST_SHARE * pairs.all {
        return None;
    }
    let late = LATE_S / pair_s;
    let first = pairs.centre(-late, late, |off_beat| off_beat);
    let second = pairs.early(second, |_| true);
    let first = first.map_or(0.0, |(first, _)| pairs.early(first, |off_beat| off_beat));
    let bounded = first.clamp(-EARLIEST_S / pair_s, LATEST_S / pair_s);
    Some((second - bounded).clamp(EARLIEST, LATEST))
}

/// Hits of the upper bands by place in the pair.
struct Places {
    /// Place from -0.25 to 0.75, strength, whether the pair is an off-beat one.
    hits: Vec<(f64, f64, bool)>,
    reach: f64,
    all: f64,
}

impl Places {
    fn of(curve: &Onsets, beats: Beats, pair_s: f64) -> Self {
        let upper = curve.hits.iter().filter(|hit| hit.band >= 2);
        let hits: Vec<(f64, f64, bool)> = upper
            .map(|hit| {
                let place = (hit.time_s - beats.offset_s) / pair_s;
                let pair = (place + 0.25).floor();
                let off_beat = pair.rem_euclid(2.0) > 0.5;
                (place - pair, f64::from(hit.strength), off_beat)
            })
            .collect();
        Self {
            reach: REACH_S / pair_s,
            all: hits.iter().map(|hit| hit.1).sum(),
            hits,
        }
    }

    /// Place before which [`EARLY`] of the strength around `centre` lies.
    fn early(&self, centre: f64, pair: impl Fn(bool) -> bool) -> f64 {
        let reach = self.reach * SPREAD_S / REACH_S;
        let around = |hit: &&(f64, f64, bool)| (hit.0 - centre).abs() < reach && pair(hit.2);
        let mut near: Vec<(f64, f64)> = self
            .hits
            .iter()
            .filter(around)
            .map(|hit| (hit.0, hit.1))
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let wanted = EARLY * near.iter().map(|hit| hit.1).sum::<f64>();
        let mut sum = 0.0;
        let found = near.iter().find(|hit| {
            sum += hit.1;
            sum >= wanted
        });
        found.map_or(centre, |hit| hit.0)
    }

    /// Where between two places most hits gather, and their weight.
    fn centre(&self, from: f64, to: f64, pair: impl Fn(bool) -> bool) -> Option<(f64, f64)> {
        let reach = self.reach;
        let inside = from - reach..to + reach;
        let near: Vec<(f64, f64)> = self
            .hits
            .iter()
            .filter(|hit| inside.contains(&hit.0) && pair(hit.2))
            .map(|hit| (hit.0, hit.1))
            .collect();
        let pull = |place: f64, centre: f64| (1.0 - ((place - centre) / reach).powi(2)).max(0.0);
        let weight_near = |centre: f64| -> f64 {
            let pulls = near.iter().map(|hit| hit.1 * pull(hit.0, centre));
            pulls.sum()
        };
        let steps = ((to - from) / 0.004) as usize;
        let places = (0..=steps).map(|step| from + 0.004 * step as f64);
        let start = places.max_by(|&a, &b| weight_near(a).total_cmp(&weight_near(b)))?;
        let mut centre = start;
        for _ in 0..4 {
            let (mut sum, mut total, mut count) = (0.0, 0.0, 0);
            for &(place, weight) in &near {
                let pull = pull(place, centre);
                if pull > 0.0 {
                    sum += pull * weight * place;
                    total += pull * weight;
                    count += 1;
                }
            }
            if count < FEWEST {
                return None;
            }
            centre = sum / total;
        }
        (from..=to)
            .contains(&centre)
            .then(|| (centre, weight_near(centre)))
    }
}
