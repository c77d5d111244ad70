//! Gains that make a mix look like a reference from several sides at once.
//!
//! A *view* is a list of readings taken alike of mix and reference, each the power
//! of a group of cells. How well a view can agree is not known beforehand: two
//! prints of one mix agree to hundredths of a dB cell by cell, two songs of one
//! style to some dB in their averages and hardly at all cell by cell. So the
//! spread of every view is estimated along with the gains, and views that do not
//! agree lose their say by themselves. Differences within a view are taken as
//! Student's t, so that a reading in which other things play does not rule.
//!
//! With `x` the gains in dB, `o` a common level and `r_k` the reading of mix less
//! reference less `o`,
//!
//! ```text
//! sum over views v of N_v * mean over k of w_k (-ln t(r_k; s_v))
//!   + 1/2 sum over beliefs b ((c_b . x - m_b) / d_b)^2
//! ```
//!
//! is made smallest by damped Gauss-Newton steps (Marquardt 1963) with the
//! weights and scales of the expectation-maximisation for t (Lange, Little,
//! Taylor 1989, Robust statistical modeling using the t distribution).

use nalgebra::{DMatrix, DVector};

use crate::scene::Scene;

/// Degrees of freedom of the differences within a view; 4 is usual where some
/// readings are expected to be far off (Lange, Little, Taylor 1989, section 5).
const FREEDOM: f64 = 4.0;
const STEPS: usize = 120;
const SMALLEST_STEP_DB: f64 = 1e-6;

/// One reading: the power of a group of cells, as a weighted power mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Cells and their weights.
    pub cells: Vec<(usize, f64)>,
    /// 1 for the mean, more for the peaks.
    pub exponent: f64,
    /// The same reading of the reference, as a power.
    pub reference: f64,
    /// What cannot be heard, as a part of the loudness of either side: added to both.
    pub floor: f64,
    /// How much it counts within its view.
    pub weight: f64,
}

/// Readings of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// The readings.
    pub readings: Vec<Reading>,
    /// How many independent readings they are worth together.
    pub worth: f64,
    /// Spread below which no difference is believed, dB, above 0.
    pub least_spread_db: f64,
}

/// What is believed of the gains beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// Tracks and their factors.
    pub factors: Vec<(usize, f64)>,
    /// Expected value, dB.
    pub mean_db: f64,
    /// Its standard deviation, dB.
    pub spread_db: f64,
}

/// What is to be fitted.
#[derive(Clone, Debug)]
pub struct ViewProblem<'a> {
    /// The tracks together.
    pub scene: &'a Scene,
    /// Weight of every cell in the loudness, as a power factor.
    pub loudness_weight: &'a [f64],
    /// Loudness of the reference by the same weights.
    pub reference_loudness: f64,
    /// The views.
    pub views: &'a [View],
    /// The beliefs.
    pub beliefs: &'a [Belief],
    /// Gain of the tracks that must not be moved, in dB; `None` for the others.
    pub fixed_gain_db: &'a [Option<f64>],
    /// Lowest and highest gain of every track, in dB.
    pub range_db: &'a [(f64, f64)],
}

/// The gains found.
#[derive(Clone, Debug, PartialEq)]
pub struct ViewFit {
    /// Gain of every track, in dB.
    pub gain_db: Vec<f64>,
    /// How far off the gain may be: standard deviation, dB; 0 where fixed.
    pub spread_db: Vec<f64>,
    /// Spread of every view, dB.
    pub view_spread_db: Vec<f64>,
    /// What was made smallest; less is better.
    pub cost: f64,
}

/// Solves the problem from a start. Tracks that are fixed keep their gain.
pub fn fit_views(problem: &ViewProblem<'_>, start_db: &[f64]) -> ViewFit {
    let tracks = problem.scene.tracks();
    let mut gain_db: Vec<f64> = (0..tracks)
        .map(|t| {
            let (low, high) = problem.range_db[t];
            problem.fixed_gain_db[t].unwrap_or(start_db[t].clamp(low, high))
        })
        .collect();
    let free: Vec<usize> = (0..tracks)
        .filter(|&t| problem.fixed_gain_db[t].is_none())
        .collect();
    let mut level_db = 0.0;
    let mut scales: Vec<f64> = vec![f64::INFINITY; problem.views.len()];
    let mut point = Point::at(problem, &gain_db);
    level_db += middle(&point.differences_db(level_db));
    let mut cost = point.cost(problem, &gain_db, level_db, &mut scales);
    let mut damping = 1e-3;
    let mut matrix = DMatrix::zeros(free.len() + 1, free.len() + 1);
    for _ in 0..STEPS {
        let (hessian, gradient) = point.normal(problem, &free, &gain_db, level_db, &scales);
        let mut damped = hessian.clone();
        for i in 0..=free.len() {
            damped[(i, i)] += damping * hessian[(i, i)] + 1e-12;
        }
        matrix = hessian;
        let Some(step) = damped.cholesky().map(|c| c.solve(&gradient)) else {
            break;
        };
        let mut tried = gain_db.clone();
        for (i, &t) in free.iter().enumerate() {
            let (low, high) = problem.range_db[t];
            tried[t] = (tried[t] - step[i].clamp(-6.0, 6.0)).clamp(low, high);
        }
        let tried_level_db = level_db - step[free.len()].clamp(-6.0, 6.0);
        let there = Point::at(problem, &tried);
        let mut tried_scales = scales.clone();
        let tried_cost = there.cost(problem, &tried, tried_level_db, &mut tried_scales);
        let moved = tried
            .iter()
            .zip(&gain_db)
            .map(|(a, b)| (a - b).abs())
            .fold((tried_level_db - level_db).abs(), f64::max);
        if tried_cost <= cost {
            (gain_db, level_db, point) = (tried, tried_level_db, there);
            (cost, scales) = (tried_cost, tried_scales);
            damping = (damping / 4.0).max(1e-10);
        } else {
            damping *= 5.0;
        }
        if moved < SMALLEST_STEP_DB {
            break;
        }
    }
    let inverse = matrix.try_inverse();
    let mut spread_db = vec![0.0; tracks];
    for (i, &t) in free.iter().enumerate() {
        let variance = inverse.as_ref().map_or(f64::INFINITY, |m| m[(i, i)]);
        spread_db[t] = variance.max(0.0).sqrt();
    }
    ViewFit {
        gain_db,
        spread_db,
        view_spread_db: scales,
        cost,
    }
}

/// Readings of the mix at given gains, with their slopes.
struct Point {
    views: Vec<Vec<Seen>>,
}

struct Seen {
    /// Mix less reference, dB.
    difference_db: f64,
    /// By track: dB a dB of gain.
    slope: Vec<f64>,
}

impl Point {
    fn at(problem: &ViewProblem<'_>, gain_db: &[f64]) -> Self {
        let scene = problem.scene;
        let tracks = scene.tracks();
        let gains: Vec<f64> = gain_db.iter().map(|g| 10f64.powf(g / 20.0)).collect();
        let mut parts = vec![0.0; tracks * scene.cells()];
        let mut powers = vec![0.0; scene.cells()];
        let (mut loudness, mut louder) = (0.0, vec![0.0; tracks]);
        for cell in 0..scene.cells() {
            let here = &mut parts[cell * tracks..(cell + 1) * tracks];
            scene.parts(cell, &gains, here);
            powers[cell] = here.iter().sum::<f64>().max(0.0);
            let weight = problem.loudness_weight[cell];
            loudness += weight * powers[cell];
            for (sum, part) in louder.iter_mut().zip(here.iter()) {
                *sum += weight * part;
            }
        }
        let see = |reading: &Reading| {
            let p = reading.exponent;
            let (mut sum, mut slope) = (0.0, vec![0.0; tracks]);
            for &(cell, weight) in &reading.cells {
                let raised = weight * powers[cell].powf(p - 1.0);
                if !raised.is_finite() {
                    continue;
                }
                sum += raised * powers[cell];
                let here = &parts[cell * tracks..(cell + 1) * tracks];
                for (slope, part) in slope.iter_mut().zip(here) {
                    *slope += raised * part;
                }
            }
            let power = sum.powf(1.0 / p);
            let whole = power + reading.floor * loudness;
            let outer = if sum > 0.0 { power / sum } else { 0.0 };
            for (slope, louder) in slope.iter_mut().zip(&louder) {
                *slope = (*slope * outer + reading.floor * louder) / whole;
            }
            let reference = reading.reference + reading.floor * problem.reference_loudness;
            Seen {
                difference_db: 10.0 * (whole / reference).log10(),
                slope,
            }
        };
        let views = problem
            .views
            .iter()
            .map(|view| view.readings.iter().map(see).collect())
            .collect();
        Self { views }
    }

    fn differences_db(&self, level_db: f64) -> Vec<f64> {
        let all = self.views.iter().flatten();
        all.map(|seen| seen.difference_db - level_db)
            .filter(|difference| difference.is_finite())
            .collect()
    }

    /// The cost, with the best scale of every view left in `scales`.
    fn cost(
        &self,
        problem: &ViewProblem<'_>,
        gain_db: &[f64],
        level_db: f64,
        scales: &mut [f64],
    ) -> f64 {
        let views: f64 = self
            .views
            .iter()
            .zip(problem.views)
            .zip(scales)
            .map(|((seen, view), scale)| view_cost(seen, view, level_db, scale))
            .sum();
        let beliefs = problem.beliefs.iter().map(|belief| {
            let off = (belief.value(gain_db) - belief.mean_db) / belief.spread_db;
            0.5 * off * off
        });
        views + beliefs.sum::<f64>()
    }

    /// Gauss-Newton matrix and gradient over the free tracks and the level.
    fn normal(
        &self,
        problem: &ViewProblem<'_>,
        free: &[usize],
        gain_db: &[f64],
        level_db: f64,
        scales: &[f64],
    ) -> (DMatrix<f64>, DVector<f64>) {
        let size = free.len() + 1;
        let mut hessian = DMatrix::zeros(size, size);
        let mut gradient = DVector::zeros(size);
        let mut slope = DVector::zeros(size);
        for ((seen, view), &scale) in self.views.iter().zip(problem.views).zip(scales) {
            let all: f64 = view.readings.iter().map(|reading| reading.weight).sum();
            if all <= 0.0 {
                continue;
            }
            for (seen, reading) in seen.iter().zip(&view.readings) {
                let difference_db = seen.difference_db - level_db;
                if !difference_db.is_finite() || reading.weight <= 0.0 {
                    continue;
                }
                let part = view.worth * reading.weight / all;
                let weight = part * trust(difference_db, scale) / (scale * scale);
                for (i, &t) in free.iter().enumerate() {
                    slope[i] = seen.slope[t];
                }
                slope[free.len()] = -1.0;
                hessian.ger(weight, &slope, &slope, 1.0);
                gradient.axpy(weight * difference_db, &slope, 1.0);
            }
        }
        for belief in problem.beliefs {
            let weight = belief.spread_db.powi(-2);
            let off_db = belief.value(gain_db) - belief.mean_db;
            slope.fill(0.0);
            for &(track, factor) in &belief.factors {
                if let Some(i) = free.iter().position(|&t| t == track) {
                    slope[i] += factor;
                }
            }
            hessian.ger(weight, &slope, &slope, 1.0);
            gradient.axpy(weight * off_db, &slope, 1.0);
        }
        (hessian, gradient)
    }
}

impl Belief {
    fn value(&self, gain_db: &[f64]) -> f64 {
        let terms = self.factors.iter();
        terms.map(|&(track, factor)| factor * gain_db[track]).sum()
    }
}

/// Weight of a difference in the expectation step.
fn trust(difference_db: f64, scale_db: f64) -> f64 {
    let size = difference_db / scale_db;
    (FREEDOM + 1.0) / (FREEDOM + size * size)
}

/// Minus the log likelihood of a view at its best scale.
fn view_cost(seen: &[Seen], view: &View, level_db: f64, scale: &mut f64) -> f64 {
    let pairs: Vec<(f64, f64)> = seen
        .iter()
        .zip(&view.readings)
        .map(|(seen, reading)| (seen.difference_db - level_db, reading.weight))
        .filter(|(difference, weight)| difference.is_finite() && *weight > 0.0)
        .collect();
    let all: f64 = pairs.iter().map(|(_, weight)| weight).sum();
    if all <= 0.0 {
        *scale = view.least_spread_db;
        return 0.0;
    }
    let least = view.least_spread_db;
    if !scale.is_finite() {
        let squares: f64 = pairs.iter().map(|(d, w)| w * d * d).sum();
        *scale = (squares / all).sqrt().max(least);
    }
    for _ in 0..30 {
        let squares: f64 = pairs
            .iter()
            .map(|&(d, w)| w * trust(d, *scale) * d * d)
            .sum();
        let next = (squares / all).sqrt().max(least);
        let settled = (next / *scale - 1.0).abs() < 1e-4;
        *scale = next;
        if settled {
            break;
        }
    }
    let scale = *scale;
    let mean: f64 = pairs
        .iter()
        .map(|&(d, w)| w * 0.5 * (FREEDOM + 1.0) * (d * d / (FREEDOM * scale * scale)).ln_1p())
        .sum();
    view.worth * (mean / all + scale.ln())
}

fn middle(values: &[f64]) -> f64 {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRACKS: usize = 4;
    const CELLS: usize = 12;

    /// Four independent tracks over twelve cells, each with a home of its own.
    fn scene() -> (Scene, Vec<Vec<f64>>) {
        let power = |t: usize, c: usize| {
            let far = (c as f64 - 3.0 * t as f64 - 1.0) / 1.5;
            (-far * far).exp() + 1e-4
        };
        let tracks: Vec<Vec<f64>> = (0..TRACKS)
            .map(|t| (0..CELLS).map(|c| power(t, c)).collect())
            .collect();
        let mut triangles = Vec::new();
        let cells = (0..CELLS).map(|cell| tracks.iter().map(move |track| track[cell]));
        for cell in cells {
            for (i, power) in cell.enumerate() {
                triangles.push(power);
                triangles.extend((i + 1..TRACKS).map(|_| 0.0));
            }
        }
        (Scene::new(TRACKS, triangles), tracks)
    }

    fn view(reference: &[f64]) -> View {
        let readings = reference
            .iter()
            .enumerate()
            .map(|(cell, &reference)| Reading {
                cells: vec![(cell, 1.0)],
                exponent: 1.0,
                reference,
                floor: 1e-6,
                weight: 1.0,
            });
        View {
            readings: readings.collect(),
            worth: 12.0,
            least_spread_db: 0.02,
        }
    }

    fn solve(views: &[View], beliefs: &[Belief], loudness: f64) -> ViewFit {
        let (scene, _) = scene();
        fit_views(
            &ViewProblem {
                scene: &scene,
                loudness_weight: &[1.0; CELLS],
                reference_loudness: loudness,
                views,
                beliefs,
                fixed_gain_db: &[Some(0.0), None, None, None],
                range_db: &[(-24.0, 24.0); TRACKS],
            },
            &[0.0; TRACKS],
        )
    }

    fn mixed(gains_db: [f64; TRACKS]) -> Vec<f64> {
        let (_, tracks) = scene();
        (0..CELLS)
            .map(|c| {
                let terms = tracks.iter().zip(gains_db);
                terms.map(|(t, g)| 31.6 * t[c] * 10f64.powf(g / 10.0)).sum()
            })
            .collect()
    }

    #[test]
    fn known_gains_come_back_at_any_level() {
        let wanted = [0.0, 9.0, -11.0, 4.0];
        let reference = mixed(wanted);
        let fit = solve(&[view(&reference)], &[], reference.iter().sum());
        for (got, want) in fit.gain_db.iter().zip(wanted) {
            assert!((got - want).abs() < 0.01, "{:?}", fit.gain_db);
        }
        assert!(fit.view_spread_db[0] < 0.05, "{:?}", fit.view_spread_db);
    }

    #[test]
    fn a_view_that_does_not_agree_loses_its_say() {
        let wanted = [0.0, 3.0, -2.0, 4.0];
        let reference = mixed(wanted);
        let nonsense: Vec<f64> = (0..CELLS)
            .map(|c| reference[c] * 10f64.powf(((c * 7) % 5) as f64 - 2.0))
            .collect();
        let views = [view(&reference), view(&nonsense)];
        let fit = solve(&views, &[], reference.iter().sum());
        for (got, want) in fit.gain_db.iter().zip(wanted) {
            assert!((got - want).abs() < 0.2, "{:?}", fit.gain_db);
        }
        assert!(fit.view_spread_db[1] > 5.0, "{:?}", fit.view_spread_db);
    }

    #[test]
    fn beliefs_decide_where_the_reference_is_silent_on_it() {
        let belief = Belief {
            factors: vec![(2, 1.0), (1, -1.0)],
            mean_db: -6.0,
            spread_db: 1.0,
        };
        let fit = solve(&[], &[belief], 1.0);
        let apart = fit.gain_db[2] - fit.gain_db[1];
        assert!((apart + 6.0).abs() < 0.01, "{:?}", fit.gain_db);
    }
}
