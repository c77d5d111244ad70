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
            parts: scene.all_parts(&gains),
            loudness: 0.0,
            louder: vec![0.0; tracks],
        };
        for cell in 0..scene.cells() {
            let here = &heard.parts[cell * tracks..(cell + 1) * tracks];
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
            let pairs = pairs(seen, view, level_db);
            let offsets = offsets(&pairs, view, scale);
            // By group: sums of weights, of weighted slopes, of weighted differences.
            let mut sums = vec![(0.0, DVector::zeros(size), 0.0); offsets.len()];
            let mut left = pairs.iter();
            for (seen, reading) in seen.iter().zip(&view.readings) {
                if !(seen.difference_db - level_db).is_finite() || reading.weight <= 0.0 {
                    continue;
                }
                let Some(pair) = left.next() else { break };
                let off_db = pair.group.map_or(0.0, |group| offsets[group]);
                let part = view.worth * reading.weight / all;
                let weight = part * trust(pair.difference_db - off_db, scale) / (scale * scale);
                for (i, &t) in free.iter().enumerate() {
                    slope[i] = seen.slope[t];
                }
                slope[free.len()] = -1.0;
                hessian.ger(weight, &slope, &slope, 1.0);
                gradient.axpy(weight * pair.difference_db, &slope, 1.0);
                if let Some(group) = pair.group {
                    let sum = &mut sums[group];
                    sum.0 += weight;
                    sum.1.axpy(weight, &slope, 1.0);
                    sum.2 += weight * pair.difference_db;
                }
            }
            // What a group is off by is integrated out.
            for (weight, slopes, differences) in sums {
                let whole = weight + view.group_spread_db.powi(-2);
                hessian.ger(-1.0 / whole, &slopes, &slopes, 1.0);
                gradient.axpy(-differences / whole, &slopes, 1.0);
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

/// A difference that counts.
struct Pair {
    difference_db: f64,
    weight: f64,
    group: Option<usize>,
}

fn pairs(seen: &[Seen], view: &View, level_db: f64) -> Vec<Pair> {
    let all = seen.iter().zip(&view.readings);
    all.map(|(seen, reading)| Pair {
        difference_db: seen.difference_db - level_db,
        weight: reading.weight,
        group: reading.group,
    })
    .filter(|pair| pair.difference_db.is_finite() && pair.weight > 0.0)
    .collect()
}

/// What every group is off by, at a scale.
fn offsets(pairs: &[Pair], view: &View, scale: f64) -> Vec<f64> {
    let mut offsets = vec![0.0; view.groups()];
    if offsets.is_empty() {
        return offsets;
    }
    let all: f64 = pairs.iter().map(|pair| pair.weight).sum();
    for _ in 0..4 {
        let mut sums = vec![(view.group_spread_db.powi(-2), 0.0); offsets.len()];
        for pair in pairs {
            let Some(group) = pair.group else { continue };
            let off_db = pair.difference_db - offsets[group];
            let part = view.worth * pair.weight / all;
            let weight = part * trust(off_db, scale) / (scale * scale);
            sums[group].0 += weight;
            sums[group].1 += weight * pair.difference_db;
        }
        for (offset, (weight, sum)) in offsets.iter_mut().zip(sums) {
            *offset = sum / weight;
        }
    }
    offsets
}

/// Minus the log likelihood of a view at its best scale.
fn view_cost(seen: &[Seen], view: &View, level_db: f64, scale: &mut f64) -> f64 {
    let pairs = pairs(seen, view, level_db);
    let all: f64 = pairs.iter().map(|pair| pair.weight).sum();
    if all <= 0.0 {
        *scale = view.least_spread_db;
        return 0.0;
    }
    let least = view.least_spread_db;
    if !scale.is_finite() {
        let squares: f64 = pairs
            .iter()
            .map(|pair| pair.weight * pair.difference_db * pair.difference_db)
            .sum();
        *scale = (squares / all).sqrt().max(least);
    }
    let mut offsets_db = offsets(&pairs, view, *scale);
    let less = |pair: &Pair, offsets_db: &[f64]| {
        pair.difference_db - pair.group.map_or(0.0, |group| offsets_db[group])
    };
    for _ in 0..30 {
        let squares: f64 = pairs
            .iter()
            .map(|pair| {
                let d = less(pair, &offsets_db);
                pair.weight * trust(d, *scale) * d * d
            })
            .sum();
        let next = (squares / all).sqrt().max(least);
        let settled = (next / *scale - 1.0).abs() < 1e-4;
        *scale = next;
        offsets_db = offsets(&pairs, view, next);
        if settled {
            break;
        }
    }
    let scale = *scale;
    let mean: f64 = pairs
        .iter()
        .map(|pair| {
            let d = less(pair, &offsets_db);
            pair.weight * 0.5 * (FREEDOM + 1.0) * (d * d / (FREEDOM * scale * scale)).ln_1p()
        })
        .sum();
    let groups: f64 = offsets_db
        .iter()
        .map(|off_db| 0.5 * (off_db / view.group_spread_db).powi(2))
        .sum();
    view.worth * (mean / all + scale.ln()) + groups
}
