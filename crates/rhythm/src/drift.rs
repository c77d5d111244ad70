//! Beats of music whose tempo drifts.
//!
//! The local period comes from autocorrelations of 8 s, the beats from the
//! best path through the onsets (D. P. W. Ellis, Beat Tracking by Dynamic
//! Programming, 2007; from memory), where gaps change slowly and what sounds within
//! the beats stays alike.

use crate::drift_path::{Prices, Search};
use crate::drift_pattern::Pattern;
use crate::onset_curve::Onsets;
use crate::warp::Warp;

const WINDOW_S: f64 = 8.0;
const STEP_S: f64 = 2.0;
/// How far the local period may lie from the middle one.
const REACH: f64 = 0.15;
/// Hops in a step of the local correlations.
const COARSE: usize = 2;
/// How often the beats are sought again by the pattern found with them.
const LOOKS: usize = 2;
/// Beats either way that a beat's place is smoothed over.
const SMOOTH: usize = 6;

/// Follows the beats of some level, eighths or beats or half bars: what the
/// music does in even time. `None` where there are too few onsets.
pub(crate) fn follow(curve: &Onsets, prices: Prices) -> Option<Warp> {
    let onsets = onsets(curve);
    let coarse: Vec<f32> = onsets
        .chunks(COARSE)
        .map(|hops| hops.iter().sum::<f32>())
        .collect();
    let coarse_s = COARSE as f64 * curve.hop_s;
    let windows = local_correlations(&coarse, coarse_s);
    let period_s = middle_period(&windows, coarse_s)?;
    let locals = local_periods(&windows, coarse_s, period_s);
    let search = Search::new(&onsets, curve.hop_s, &locals, STEP_S, WINDOW_S, prices);
    let mut beats = search.best(None);
    for _ in 0..LOOKS {
        if let Some(pattern) = Pattern::of(curve, &beats) {
            beats = search.best(Some(&pattern));
        }
    }
    if beats.len() < 8 {
        return None;
    }
    let beats_s: Vec<f64> = beats.iter().map(|&beat| snap(curve, beat)).collect();
    let beats_s = smoothed(&beats_s);
    if beats_s.windows(2).any(|pair| pair[1] <= pair[0]) {
        return None;
    }
    let mut gaps: Vec<f64> = beats_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    gaps.sort_by(f64::total_cmp);
    let period_s = gaps[gaps.len() / 2];
    Some(Warp::of_beats(beats_s, period_s))
}

/// Every beat moved to a parabola through its neighbours, those far off it
/// counting less.
fn smoothed(beats_s: &[f64]) -> Vec<f64> {
    (0..beats_s.len())
        .map(|centre| {
            let from = centre.saturating_sub(SMOOTH);
            let to = (centre + SMOOTH + 1).min(beats_s.len());
            let points: Vec<(f64, f64)> = (from..to)
                .map(|at| (at as f64 - centre as f64, beats_s[at] - beats_s[centre]))
                .collect();
            let mut curve = [0.0; 3];
            for reach_s in [f64::INFINITY, 0.04, 0.02] {
                let weighted = points.iter().map(|&(x, y)| {
                    let off = (y - (curve[0] + x * (curve[1] + x * curve[2]))) / reach_s;
                    let near = 1.0 - (x.abs() / (SMOOTH as f64 + 1.0)).powi(3);
                    (x, y, near * (1.0 - off * off).max(0.0).powi(2))
                });
                curve = parabola(weighted).unwrap_or(curve);
            }
            beats_s[centre] + curve[0]
        })
        .collect()
}

/// Least squares of `c0 + c1 x + c2 x^2` by the normal equations.
fn parabola(points: impl Iterator<Item = (f64, f64, f64)>) -> Option<[f64; 3]> {
    let mut rows = [[0.0f64; 4]; 3];
    for (x, y, weight) in points {
        let powers = [1.0, x, x * x];
        for (row, p) in rows.iter_mut().zip(powers) {
            for (cell, q) in row.iter_mut().zip(powers) {
                *cell += weight * p * q;
            }
            row[3] += weight * p * y;
        }
    }
    for column in 0..3 {
        let pivot = rows[column];
        if pivot[column].abs() < 1e-6 {
            return None;
        }
        for (index, row) in rows.iter_mut().enumerate() {
            if index != column {
                let factor = row[column] / pivot[column];
                row.iter_mut()
                    .zip(pivot)
                    .for_each(|(cell, p)| *cell -= factor * p);
            }
        }
    }
    Some(std::array::from_fn(|index| {
        rows[index][3] / rows[index][index]
    }))
}

fn onsets(curve: &Onsets) -> Vec<f32> {
    (0..curve.rises[0].len())
        .map(|index| {
            let low = 1.5 * curve.rises[0][index];
            low + curve.rises[1..]
                .iter()
                .map(|rises| rises[index])
                .sum::<f32>()
        })
        .map(|sum| (sum - 0.5).max(0.0))
        .collect()
}

/// The strongest hit within three hops, else the hop itself.
fn snap(curve: &Onsets, beat: usize) -> f64 {
    let time_s = beat as f64 * curve.hop_s;
    let reach_s = 3.0 * curve.hop_s;
    let from = curve
        .hits
        .partition_point(|hit| hit.time_s <= time_s - reach_s);
    curve.hits[from..]
        .iter()
        .take_while(|hit| hit.time_s < time_s + reach_s)
        .max_by(|a, b| a.strength.total_cmp(&b.strength))
        .map_or(time_s, |hit| hit.time_s)
}

fn local_correlations(onsets: &[f32], hop_s: f64) -> Vec<Vec<f32>> {
    let window = (WINDOW_S / hop_s) as usize;
    let step = (STEP_S / hop_s) as usize;
    let lags = (2.2 / hop_s) as usize;
    let last = onsets.len().saturating_sub(window);
    (0..=last)
        .step_by(step.max(1))
        .map(|start| {
            let part = &onsets[start..(start + window).min(onsets.len())];
            let mean = part.iter().sum::<f32>() / part.len().max(1) as f32;
            (0..lags.min(part.len()))
                .map(|lag| {
                    let sum: f32 = part
                        .iter()
                        .zip(&part[lag..])
                        .map(|(a, b)| (a - mean) * (b - mean))
                        .sum();
                    sum / part.len() as f32
                })
                .collect()
        })
        .collect()
}

/// Correlation at a period and its double, over a few hops.
fn strength(correlation: &[f32], period_s: f64, hop_s: f64) -> f64 {
    let at = |lag_s: f64| {
        let index = (lag_s / hop_s).round() as usize;
        let from = index.saturating_sub(2).min(correlation.len());
        let near = &correlation[from..(index + 3).min(correlation.len())];
        f64::from(near.iter().copied().fold(0.0, f32::max))
    };
    at(period_s) + 0.5 * at(2.0 * period_s) + 0.25 * at(0.5 * period_s)
}

/// Periods from 60 to 200 beats a minute, 1 % apart.
fn ladder() -> impl Iterator<Item = f64> {
    (0..=121).map(|step| 0.3 * 1.01f64.powi(step))
}

/// The period most windows agree on; nearer to 120 is more likely.
fn middle_period(windows: &[Vec<f32>], hop_s: f64) -> Option<f64> {
    let scored = ladder().map(|period_s| {
        let sum: f64 = windows
            .iter()
            .map(|window| {
                // the local period may be off the middle one
                let near = [0.94, 0.97, 1.0, 1.03, 1.06];
                near.iter()
                    .map(|r| strength(window, period_s * r, hop_s))
                    .fold(0.0, f64::max)
            })
            .sum();
        let octaves = (period_s / 0.5).log2();
        (sum * (-0.5 * (octaves / 0.6).powi(2)).exp(), period_s)
    });
    let best = scored.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (best.0 > 0.0).then_some(best.1)
}

/// One period a window, the path that is strong and smooth (Viterbi).
fn local_periods(windows: &[Vec<f32>], hop_s: f64, middle_s: f64) -> Vec<f64> {
    let periods: Vec<f64> = (-15..=15)
        .map(|k| middle_s * (1.0 + REACH * f64::from(k) / 15.0))
        .collect();
    let mut scores = vec![0.0; periods.len()];
    let mut back: Vec<Vec<usize>> = Vec::new();
    for window in windows {
        let values: Vec<f64> = periods
            .iter()
            .map(|p| strength(window, *p, hop_s))
            .collect();
        let highest = values.iter().copied().fold(1e-12, f64::max);
        let mut from = vec![0; periods.len()];
        let mut next = vec![0.0; periods.len()];
        for (index, value) in values.iter().enumerate() {
            let (before, best) = (0..periods.len())
                .map(|other| {
                    (
                        other,
                        scores[other] - 0.05 * index.abs_diff(other).pow(2) as f64,
                    )
                })
                .fold(
                    (0, f64::MIN),
                    |best, now| if now.1 > best.1 { now } else { best },
                );
            from[index] = before;
            next[index] = best + value / highest;
        }
        back.push(from);
        scores = next;
    }
    let mut at = (0..scores.len())
        .max_by(|&a, &b| scores[a].total_cmp(&scores[b]))
        .unwrap_or(0);
    let mut path = vec![at];
    for from in back.iter().skip(1).rev() {
        at = from[at];
        path.push(at);
    }
    path.reverse();
    path.into_iter().map(|index| periods[index]).collect()
}
