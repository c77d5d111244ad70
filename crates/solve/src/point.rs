//! Readings of the mix at given gains, with their slopes.

use nalgebra::{DMatrix, DVector};

use crate::view::{Reading, View, power_mean};
use crate::view_fit::ViewProblem;

/// Degrees of freedom of the differences within a view; 4 is usual where some
/// readings are expected to be far off (Lange, Little, Taylor 1989, section 5).
const FREEDOM: f64 = 4.0;
const SILENCE: f64 = 1e-16;

/// All views at some gains.
pub(crate) struct Point {
    views: Vec<Vec<Seen>>,
}

struct Seen {
    /// Mix less reference, dB.
    difference_db: f64,
    /// By track: dB a dB of gain.
    slope: Vec<f64>,
}

/// Powers of all cells, with what each track adds.
struct Heard {
    tracks: usize,
    powers: Vec<f64>,
    parts: Vec<f64>,
    loudness: f64,
    louder: Vec<f64>,
}

impl Heard {
    fn at(problem: &ViewProblem<'_>, gain_db: &[f64]) -> Self {
        let scene = problem.scene;
        let tracks = scene.tracks();
        let gains: Vec<f64> = gain_db.iter().map(|g| 10f64.powf(g / 20.0)).collect();
        let mut heard = Self {
            tracks,
            powers: vec![0.0; scene.cells()],
            parts: vec![0.0; tracks * scene.cells()],
            loudness: 0.0,
            louder: vec![0.0; tracks],
        };
        for cell in 0..scene.cells() {
            let here = &mut heard.parts[cell * tracks..(cell + 1) * tracks];
            scene.parts(cell, &gains, here);
            heard.powers[cell] = here.iter().sum::<f64>().max(0.0);
            let weight = problem.loudness_weight[cell];
            heard.loudness += weight * heard.powers[cell];
            for (sum, part) in heard.louder.iter_mut().zip(here.iter()) {
                *sum += weight * part;
            }
        }
        heard
    }

    fn see(&self, reading: &Reading, reference_loudness: f64) -> Seen {
        let p = reading.exponent;
        let power = power_mean(&reading.cells, p, |cell| self.powers[cell]);
        let (mut sum, mut slope) = (0.0, vec![0.0; self.tracks]);
        for &(cell, weight) in &reading.cells {
            let here = self.powers[cell].max(SILENCE);
            let raised = weight * (here / power).powf(p - 1.0);
            sum += raised * here;
            let parts = &self.parts[cell * self.tracks..(cell + 1) * self.tracks];
            for (slope, part) in slope.iter_mut().zip(parts) {
                *slope += raised * part;
            }
        }
        let whole = power + reading.floor * self.loudness;
        let outer = if sum > 0.0 { power / sum } else { 0.0 };
        for (slope, louder) in slope.iter_mut().zip(&self.louder) {
            *slope = (*slope * outer + reading.floor * louder) / whole;
        }
        let reference = reading.reference + reading.floor * reference_loudness;
        Seen {
            difference_db: 10.0 * (whole / reference).log10(),
            slope,
        }
    }
}

impl Point {
    pub(crate) fn at(problem: &ViewProblem<'_>, gain_db: &[f64]) -> Self {
        let heard = Heard::at(problem, gain_db);
        let see = |reading: &Reading| heard.see(reading, problem.reference_loudness);
        let views = problem
            .views
            .iter()
            .map(|view| view.readings.iter().map(see).collect())
            .collect();
        Self { views }
    }

    pub(crate) fn differences_db(&self) -> Vec<f64> {
        let all = self.views.iter().flatten();
        all.map(|seen| seen.difference_db)
            .filter(|difference| difference.is_finite())
            .collect()
    }

    /// The cost of the views, with the best scale of every view left in `scales`.
    pub(crate) fn cost(&self, problem: &ViewProblem<'_>, level_db: f64, scales: &mut [f64]) -> f64 {
        self.views
            .iter()
            .zip(problem.views)
            .zip(scales)
            .map(|((seen, view), scale)| view_cost(seen, view, level_db, scale))
            .sum()
    }

    /// Gauss-Newton matrix and gradient of the views over the free tracks and,
    /// last, the level.
    pub(crate) fn normal(
        &self,
        problem: &ViewProblem<'_>,
        free: &[usize],
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
        (hessian, gradient)
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
