//! Sustained layers: what is still there between the hits.

use crate::bands::BANDS;
use crate::candidate::Candidate;
use crate::describe::{band_of, quantile};
use crate::fold::STEPS;
use crate::places::pattern;
use crate::strand::Strand;
use crate::struck::STRUCK;
use crate::turns::TURNS;

/// Bands and view of a search.
#[derive(Clone, Copy, Debug)]
enum View {
    /// What both sides share.
    Middle,
    /// What differs between them.
    Apart,
}

const SEARCHES: [(usize, usize, View); 5] = [
    (0, 3, View::Middle),
    (2, 7, View::Middle),
    (5, 13, View::Middle),
    (5, 14, View::Apart),
    (11, 20, View::Middle),
];

/// It is heard where it is within 12 dB of its strong moments.
const SOUNDING: f32 = 0.063;

/// Looks for sustained layers.
pub(crate) fn held(mix: &Strand) -> Vec<Candidate> {
    (0..SEARCHES.len())
        .filter_map(|search| candidate(mix, search))
        .collect()
}

fn candidate(mix: &Strand, search: usize) -> Option<Candidate> {
    let (first, last, view) = SEARCHES[search];
    let slots = mix.bars * mix.slots;
    let mut floor = vec![[0.0f32; BANDS]; slots];
    let mut whole = 0.0f64;
    let (mut sum, mut difference, mut cross) = (0.0f32, 0.0f32, 0.0f32);
    for (slot, floor) in floor.iter_mut().enumerate() {
        for band in first..=last {
            let mut least = f32::INFINITY;
            for cells in &mix.cells[slot * STEPS..(slot + 1) * STEPS] {
                let cell = &cells[band];
                let power = match view {
                    View::Middle => 0.5 * (cell.sum + 2.0 * cell.cross),
                    View::Apart => 0.5 * (cell.sum - 2.0 * cell.cross),
                };
                least = least.min(power.max(0.0));
                whole += f64::from(power);
                sum += cell.sum;
                difference += cell.difference;
                cross += cell.cross;
            }
            floor[band] = least;
        }
    }
    let curve: Vec<f32> = floor.iter().map(|bands| bands.iter().sum()).collect();
    let strong = quantile(&curve, 0.9);
    if strong <= 1e-11 || sum <= 0.0 {
        return None;
    }
    let on: Vec<bool> = curve.iter().map(|&p| p > SOUNDING * strong).collect();
    let duty = on.iter().filter(|&&on| on).count() as f64 / slots as f64;
    let found = pattern(&on, mix.slots, 0.5);
    let mut spectrum = [0.0f64; BANDS];
    for bands in &floor {
        for (to, &from) in spectrum.iter_mut().zip(bands) {
            *to += f64::from(from);
        }
    }
    let total: f64 = spectrum.iter().sum();
    let steady = f64::from(quantile(&curve, 0.2) / quantile(&curve, 0.8).max(1e-20));
    let balance = f64::from(difference / sum).clamp(-1.0, 1.0);
    let alike = f64::from(2.0 * cross / sum);
    Some(Candidate {
        origin: STRUCK + TURNS + search,
        fit: found.fit,
        pattern: found,
        sustained: true,
        band_hz: band_of(&spectrum),
        length_ms: 1000.0 * mix.step_s * (mix.slots * STEPS) as f64 * duty,
        side: match view {
            View::Middle => balance.asin() / std::f64::consts::FRAC_PI_2,
            View::Apart => 0.0,
        },
        wide: match view {
            View::Middle => (1.0 - alike).clamp(0.0, 1.0) * 0.5,
            View::Apart => 0.7,
        },
        power: total / slots as f64,
        own: total * STEPS as f64 / whole.max(1e-20),
        contrast: steady,
        played: duty,
        elsewhere: 1.0 - alike,
        kept: [1.0, 1.0],
    })
}
