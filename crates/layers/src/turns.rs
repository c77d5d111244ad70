//! Hits that are played in every other bar only: toms, fills, answers.

use crate::bands::BANDS;
use crate::candidate::Candidate;
use crate::describe::band_of;
use crate::places::Pattern;
use crate::rises::{EXPONENT, Rises, VIEWS};
use crate::strand::Strand;
use crate::struck::STRUCK;

/// First and last band of each search.
const SEARCHES: [(usize, usize); 4] = [(1, 8), (5, 14), (10, 20), (17, 25)];
/// Number of searches.
pub(crate) const TURNS: usize = SEARCHES.len();
/// Weakest hit that counts against the strongest.
const WEAKEST: f64 = 0.12;
/// The other bar must hold less than this of it.
const OTHER: f64 = 0.3;

/// Looks for hits of every other bar.
pub(crate) fn turns(mix: &Strand, rises: &Rises) -> Vec<Candidate> {
    if rises.columns != 2 * mix.slots {
        return Vec::new();
    }
    (0..TURNS)
        .filter_map(|search| candidate(mix, rises, search))
        .collect()
}

fn candidate(mix: &Strand, rises: &Rises, search: usize) -> Option<Candidate> {
    let (first, last) = SEARCHES[search];
    let columns = rises.columns;
    let power = |row: usize, column: usize| {
        f64::from(rises.mean[row * columns + column]).powf(1.0 / f64::from(EXPONENT))
    };
    let heard = |column: usize| -> f64 {
        (first..=last)
            .map(|band| power(band * VIEWS, column) + power(band * VIEWS + 1, column))
            .sum()
    };
    let all: Vec<f64> = (0..columns).map(heard).collect();
    let other = |column: usize| (column + mix.slots) % columns;
    let alone: Vec<f64> = (0..columns)
        .map(|column| {
            if all[other(column)] < OTHER * all[column] {
                all[column] - all[other(column)]
            } else {
                0.0
            }
        })
        .collect();
    let most = alone.iter().copied().fold(0.0, f64::max);
    let loudest = all.iter().copied().fold(0.0, f64::max);
    if most <= 1e-11 {
        return None;
    }
    let places: Vec<usize> = (0..columns)
        .filter(|&column| alone[column] > WEAKEST * most)
        .collect();
    let mut spectrum = [0.0; BANDS];
    let mut views = [0.0f64; VIEWS];
    let bands = spectrum.iter_mut().enumerate().take(last + 1).skip(first);
    for (band, loud) in bands {
        for &at in &places {
            for (view, sum) in views.iter_mut().enumerate() {
                let row = band * VIEWS + view;
                let here = (power(row, at) - power(row, other(at))).max(0.0);
                *sum += here;
                if view < 2 {
                    *loud += here;
                }
            }
        }
    }
    let total = views[0] + views[1];
    if total <= 0.0 {
        return None;
    }
    let kept = [2.0 * views[3] / total, 2.0 * views[4] / total];
    let steps = if kept[1] > 0.06 { 8.0 } else { 3.0 };
    let strong: f64 = places.iter().map(|&at| alone[at]).sum();
    let left_out: f64 = (0..columns).map(|at| alone[at]).sum::<f64>() - strong;
    let balance = ((views[1] - views[0]) / total).clamp(-1.0, 1.0);
    Some(Candidate {
        origin: STRUCK + search,
        fit: 1.0,
        own: most / loudest,
        contrast: 1.0 - left_out / strong,
        played: steady(rises, &places, first, last),
        elsewhere: strong / all.iter().sum::<f64>(),
        pattern: Pattern {
            places,
            bars: 2,
            fit: 1.0,
        },
        sustained: false,
        band_hz: band_of(&spectrum),
        length_ms: 1000.0 * mix.step_s * steps,
        side: balance.asin() / std::f64::consts::FRAC_PI_2,
        wide: (2.0 * views[2] / total).clamp(0.0, 1.0),
        power: total * steps / (columns * 4) as f64,
        kept,
    })
}

/// Share of the bars in which something comes in at the places.
fn steady(rises: &Rises, places: &[usize], first: usize, last: usize) -> f64 {
    let strength = |slot: usize| -> f32 {
        (first..=last)
            .map(|band| {
                let rows = &rises.every[slot][band * VIEWS..];
                rows[0] + rows[1]
            })
            .sum()
    };
    let (mut played, mut of) = (0usize, 0usize);
    for &place in places {
        let slots = (place..rises.every.len()).step_by(rises.columns);
        let all: Vec<f32> = slots.map(strength).collect();
        let mean = all.iter().sum::<f32>() / all.len().max(1) as f32;
        played += all.iter().filter(|&&x| x > 0.4 * mean).count();
        of += all.len();
    }
    played as f64 / of.max(1) as f64
}
