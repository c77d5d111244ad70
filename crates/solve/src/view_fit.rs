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

use crate::point::Point;
use crate::scene::Scene;
use crate::view::{Belief, View};

const STEPS: usize = 120;
const SMALLEST_STEP_DB: f64 = 1e-6;

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
    /// How far the views alone would let each gain go, all others held: dB.
    pub told_db: Vec<f64>,
    /// Mix less reference, dB.
    pub level_db: f64,
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
    level_db += middle(point.differences_db());
    let mut cost = point.cost(problem, level_db, &mut scales) + believed(problem, &gain_db);
    let mut damping = 1e-3;
    let mut matrix = DMatrix::zeros(free.len() + 1, free.len() + 1);
    let mut data = matrix.clone();
    for _ in 0..STEPS {
        let (mut hessian, mut gradient) = point.normal(problem, &free, level_db, &scales);
        data = hessian.clone();
        add_beliefs(problem, &free, &gain_db, &mut hessian, &mut gradient);
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
        let tried_cost =
            there.cost(problem, tried_level_db, &mut tried_scales) + believed(problem, &tried);
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
    let mut told_db = vec![0.0; tracks];
    for (i, &t) in free.iter().enumerate() {
        told_db[t] = data[(i, i)].max(1e-12).sqrt().recip();
    }
    ViewFit {
        gain_db,
        level_db,
        spread_db,
        told_db,
        view_spread_db: scales,
        cost,
    }
}

/// What the views and beliefs of a problem cost at gains, with the spreads of a fit
/// held: views that agree with each other are worth as much as they were there.
pub fn cost_at(problem: &ViewProblem<'_>, fit: &ViewFit, gain_db: &[f64]) -> f64 {
    let views: Vec<View> = problem
        .views
        .iter()
        .zip(&fit.view_spread_db)
        .map(|(view, &spread)| View {
            least_spread_db: spread,
            ..view.clone()
        })
        .collect();
    let held = ViewProblem {
        views: &views,
        ..problem.clone()
    };
    let point = Point::at(&held, gain_db);
    // One step of the level by the middle: the level is of no interest here.
    let level_db = middle(point.differences_db());
    let mut scales = fit.view_spread_db.clone();
    point.cost(&held, level_db, &mut scales) + believed(problem, gain_db)
}

/// How far the views alone would let one gain go at other gains, dB, with the
/// spreads of a fit; and whether the track is free at all.
pub(crate) fn told_at(
    problem: &ViewProblem<'_>,
    fit: &ViewFit,
    gain_db: &[f64],
    track: usize,
) -> (bool, f64) {
    if problem.fixed_gain_db[track].is_some() {
        return (false, 0.0);
    }
    let point = Point::at(problem, gain_db);
    let level_db = middle(point.differences_db());
    let (hessian, _) = point.normal(problem, &[track], level_db, &fit.view_spread_db);
    (true, hessian[(0, 0)].max(1e-12).sqrt().recip())
}

fn believed(problem: &ViewProblem<'_>, gain_db: &[f64]) -> f64 {
    let beliefs = problem.beliefs.iter();
    beliefs.map(|belief| belief.cost(gain_db)).sum()
}

fn add_beliefs(
    problem: &ViewProblem<'_>,
    free: &[usize],
    gain_db: &[f64],
    hessian: &mut DMatrix<f64>,
    gradient: &mut DVector<f64>,
) {
    let mut slope = DVector::zeros(free.len() + 1);
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
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests;
