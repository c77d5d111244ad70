//! One tempo and one offset fitted to all hits.

use crate::onset_hits::Hit;

/// Half widths of the windows around grid places, narrower with every pass.
const WINDOWS_S: [f64; 5] = [0.025, 0.018, 0.012, 0.008, 0.008];

/// A grid of beats: beat `k` lies at `offset_s + k * period_s`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Beats {
    pub(crate) period_s: f64,
    pub(crate) offset_s: f64,
}

impl Beats {
    /// Distance of a time to the nearest beat, in beats, -0.5 to 0.5.
    pub(crate) fn phase(&self, time_s: f64) -> f64 {
        let place = (time_s - self.offset_s) / self.period_s;
        place - nearest(place)
    }

    /// The same grid with its offset in `0..period`.
    pub(crate) fn wrapped(self) -> Self {
        Self {
            offset_s: self.offset_s.rem_euclid(self.period_s),
            ..self
        }
    }
}

/// The nearest whole number of anything far below 2^51: adding 1.5 * 2^52
/// leaves no bits for a fraction. Several times quicker than `round`.
#[inline]
pub(crate) fn nearest(x: f64) -> f64 {
    const SHIFT: f64 = 6_755_399_441_055_744.0;
    (x + SHIFT) - SHIFT
}

/// Weighted least squares of beats and half beats on the hits near them.
///
/// With `keep_period` only the offset moves.
pub(crate) fn fit(hits: &[Hit], start: Beats, keep_period: bool) -> Beats {
    let mut beats = start;
    for window_s in WINDOWS_S {
        beats = once(hits, beats, window_s, keep_period).unwrap_or(beats);
    }
    beats
}

fn once(hits: &[Hit], beats: Beats, window_s: f64, keep_period: bool) -> Option<Beats> {
    let half_s = 0.5 * beats.period_s;
    let window_s = window_s.min(0.12 * half_s);
    let (mut w, mut wx, mut wy, mut wxx, mut wxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for hit in hits {
        let x = nearest((hit.time_s - beats.offset_s) / half_s);
        let y = hit.time_s - beats.offset_s - x * half_s;
        if y.abs() < window_s {
            // biweight: far hits pull little
            let weight = hit.weight() * (1.0 - (y / window_s).powi(2)).powi(2);
            w += weight;
            wx += weight * x;
            wy += weight * y;
            wxx += weight * x * x;
            wxy += weight * x * y;
        }
    }
    if w <= 0.0 {
        return None;
    }
    let spread = wxx - wx * wx / w;
    if keep_period || spread < 1.0 {
        let offset_s = beats.offset_s + wy / w;
        return Some(Beats { offset_s, ..beats });
    }
    let slope = (wxy - wx * wy / w) / spread;
    Some(Beats {
        period_s: 2.0 * (half_s + slope),
        offset_s: beats.offset_s + (wy - slope * wx) / w,
    })
}

/// The period near `period_s` at which hits agree best, down to 1e-6 of it.
pub(crate) fn sharpen(hits: &[Hit], period_s: f64) -> f64 {
    let coarse = best_period(hits, period_s, 4e-4, 3);
    best_period(hits, coarse, 8e-5, 5)
}

/// The best of 25 periods within `reach` of one: greatest sum of the lengths of
/// all hits as vectors on the circles of the first `parts` of a half, a third, a
/// quarter, a sixth and an eighth of the period. Thirds are for periods that are
/// three quarters of a beat, or three halves.
fn best_period(hits: &[Hit], period_s: f64, reach: f64, parts: usize) -> f64 {
    const STEPS: usize = 12;
    let step = reach / STEPS as f64;
    let mut sums = [[[0.0f64; 2]; 5]; 2 * STEPS + 1];
    let product = |a: [f64; 2], b: [f64; 2]| [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
    for hit in hits {
        // one step of the frequency turns a hit by a fixed angle
        let weight = hit.weight();
        let turn = std::f64::consts::TAU * hit.time_s / period_s;
        let (sin, cos) = (turn * (1.0 - reach)).sin_cos();
        let (step_sin, step_cos) = (turn * step).sin_cos();
        let mut whole = [cos, sin];
        for sums in &mut sums {
            let half = product(whole, whole);
            let third = product(half, whole);
            let quarter = product(half, half);
            let circles = [
                half,
                third,
                quarter,
                product(third, third),
                product(quarter, quarter),
            ];
            for (sum, circle) in sums.iter_mut().zip(circles) {
                sum[0] += weight * circle[0];
                sum[1] += weight * circle[1];
            }
            whole = product(whole, [step_cos, step_sin]);
        }
    }
    let (mut best, mut at) = (f64::MIN, STEPS);
    for (index, sums) in sums.iter().enumerate() {
        let agreement: f64 = sums[..parts].iter().map(|sum| sum[0].hypot(sum[1])).sum();
        if agreement > best {
            (best, at) = (agreement, index);
        }
    }
    period_s / (1.0 + step * (at as f64 - STEPS as f64))
}

/// Places in the beat where hits gather, the strongest first, in seconds from 0.
pub(crate) fn phases(hits: &[Hit], period_s: f64, most: usize) -> Vec<f64> {
    const STEP_S: f64 = 0.002;
    let count = ((period_s / STEP_S) as usize).max(8);
    let mut histogram = vec![0.0f64; count];
    for hit in hits {
        let place = (hit.time_s / period_s).rem_euclid(1.0) * count as f64;
        histogram[(place as usize) % count] += hit.weight();
    }
    let smooth: Vec<f64> = (0..count)
        .map(|index| {
            (0..9)
                .map(|k| {
                    histogram[(index + count + k - 4) % count] * (5.0 - (k as f64 - 4.0).abs())
                })
                .sum()
        })
        .collect();
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| smooth[b].total_cmp(&smooth[a]).then(a.cmp(&b)));
    let mut found: Vec<usize> = Vec::new();
    for index in order {
        let apart = |&other: &usize| {
            let d = index.abs_diff(other);
            d.min(count - d) as f64 * period_s / count as f64 > 0.02
        };
        if found.iter().all(apart) {
            found.push(index);
        }
        if found.len() == most {
            break;
        }
    }
    found
        .into_iter()
        .map(|index| (index as f64 + 0.5) * period_s / count as f64)
        .collect()
}
