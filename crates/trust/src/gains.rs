//! The faders, recovered from inner products with the bounce.

use nalgebra::{DMatrix, DVector};

use crate::gram::Gram;
use crate::nnls::{left_over, non_negative};
use cupel_units::{amplitude_to_db, db_to_power, power_to_db};

/// Rounds of reweighting.
const ROUNDS: usize = 12;

/// How much better the well-fitting half must fit for the reweighted answer to
/// be taken, dB (common practice, no source).
const REWEIGHTED_BETTER_DB: f64 = 6.0;

/// Fit above which no gain is called confident (common practice, no source).
const CONFIDENT_FIT_DB: f64 = -24.0;

/// Largest standard error of a confident gain, relative: 0.1 dB.
const CONFIDENT_ERROR: f64 = 0.0116;

/// Independent observations that a quarter of a second counts for; far fewer
/// than its samples, because what is left is not white.
const OBSERVATIONS_A_SEGMENT: f64 = 20.0;

/// Recovered gains of the columns in use.
#[derive(Debug, Clone)]
pub(crate) struct Gains {
    /// Factor of every column; 0 for those not in use.
    pub linear: Vec<f64>,
    /// Whether each is well determined.
    pub confident: Vec<bool>,
    /// Gain that most of them share, if most do.
    pub shared_db: Option<f64>,
    /// What is left of the bounce in the windows.
    pub residual_db: f64,
}

/// Fits the bounce (last column, times `sign`) by the columns in `among`.
///
/// Where a limiter bends the loud places only, the windows that fit best get
/// the most weight, so that the faders come out as they stood before it.
pub(crate) fn recover(gram: &Gram, among: &[usize], sign: f64) -> Gains {
    let count = gram.total.nrows() - 1;
    let plain = fit(&gram.total, among, sign);
    let (mut weighted, mut weights) = (plain.clone(), vec![1.0; gram.segments.len()]);
    let mut softness = 0.1;
    for _ in 0..ROUNDS {
        weights = reweigh(gram, &weighted, sign, softness);
        weighted = fit(&weighted_sum(gram, &weights), among, sign);
        softness = (softness * 0.25f64).max(1e-6);
    }
    let better = median_fit_db(gram, &weighted, sign) + REWEIGHTED_BETTER_DB
        <= median_fit_db(gram, &plain, sign);
    let (factors, matrix) = if better {
        (weighted, weighted_sum(gram, &weights))
    } else {
        (plain, gram.total.clone())
    };
    let confident = confidence(&matrix, &factors, among, sign, gram.segments.len());
    let linear: Vec<f64> = (0..count).map(|i| factors[i]).collect();
    let (b, power) = right_side(&gram.total, sign);
    let left = left_over(&square(&gram.total), &b, power, &factors);
    Gains {
        shared_db: shared_gain_db(&linear, &confident),
        linear,
        confident,
        residual_db: power_to_db((left / power.max(f64::MIN_POSITIVE)).max(1e-15)),
    }
}

/// Gain within 0.1 dB of which at least half of the confident ones lie.
fn shared_gain_db(linear: &[f64], confident: &[bool]) -> Option<f64> {
    let mut gains: Vec<f64> = linear
        .iter()
        .zip(confident)
        .filter(|(gain, confident)| **confident && **gain > 0.0)
        .map(|(gain, _)| amplitude_to_db(*gain))
        .collect();
    gains.sort_by(f64::total_cmp);
    let within = |low: f64| {
        gains
            .iter()
            .filter(|g| **g >= low && **g <= low + 0.1)
            .count()
    };
    let most = gains
        .iter()
        .map(|&low| (within(low), low))
        .fold(
            (0, 0.0),
            |best, new| if new.0 > best.0 { new } else { best },
        );
    let inside: Vec<f64> = gains
        .iter()
        .copied()
        .filter(|g| *g >= most.1 && *g <= most.1 + 0.1)
        .collect();
    (most.0 >= 2.min(gains.len()).max(1) && most.0 * 2 >= gains.len())
        .then(|| inside[inside.len() / 2])
}

fn square(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    let count = matrix.nrows() - 1;
    matrix.view((0, 0), (count, count)).into_owned()
}

/// Products of the columns with the bounce, and the bounce's power.
fn right_side(matrix: &DMatrix<f64>, sign: f64) -> (DVector<f64>, f64) {
    let count = matrix.nrows() - 1;
    let b = matrix.view((0, count), (count, 1)).column(0).into_owned() * sign;
    (b, matrix[(count, count)])
}

fn fit(matrix: &DMatrix<f64>, among: &[usize], sign: f64) -> DVector<f64> {
    let (b, _) = right_side(matrix, sign);
    non_negative(&square(matrix), &b, among)
}

fn weighted_sum(gram: &Gram, weights: &[f64]) -> DMatrix<f64> {
    let mut sum = DMatrix::zeros(gram.total.nrows(), gram.total.ncols());
    for (segment, &weight) in gram.segments.iter().zip(weights) {
        sum += segment * weight;
    }
    sum
}

/// Relative residual of one segment.
fn relative(segment: &DMatrix<f64>, factors: &DVector<f64>, sign: f64) -> Option<f64> {
    let (b, power) = right_side(segment, sign);
    (power > 0.0).then(|| left_over(&square(segment), &b, power, factors) / power)
}

fn reweigh(gram: &Gram, factors: &DVector<f64>, sign: f64, softness: f64) -> Vec<f64> {
    let count = gram.total.nrows() - 1;
    gram.segments
        .iter()
        .map(|segment| match relative(segment, factors, sign) {
            Some(left) => 1.0 / (segment[(count, count)] * (left + softness)),
            None => 0.0,
        })
        .collect()
}

fn median_fit_db(gram: &Gram, factors: &DVector<f64>, sign: f64) -> f64 {
    let mut fits: Vec<f64> = gram
        .segments
        .iter()
        .filter_map(|segment| relative(segment, factors, sign))
        .collect();
    fits.sort_by(f64::total_cmp);
    fits.get(fits.len() / 3)
        .map_or(0.0, |&left| power_to_db(left.max(1e-12)))
}

fn confidence(
    matrix: &DMatrix<f64>,
    factors: &DVector<f64>,
    among: &[usize],
    sign: f64,
    segments: usize,
) -> Vec<bool> {
    let gram = square(matrix);
    let (b, power) = right_side(matrix, sign);
    let left = left_over(&gram, &b, power, factors);
    let mut confident = vec![false; gram.nrows()];
    let used: Vec<usize> = among
        .iter()
        .copied()
        .filter(|&i| gram[(i, i)] > 0.0)
        .collect();
    if power <= 0.0 || left / power > db_to_power(CONFIDENT_FIT_DB) {
        return confident;
    }
    let scale: Vec<f64> = used.iter().map(|&i| gram[(i, i)].sqrt()).collect();
    let scaled = DMatrix::from_fn(used.len(), used.len(), |r, c| {
        gram[(used[r], used[c])] / (scale[r] * scale[c]) + if r == c { 1e-9 } else { 0.0 }
    });
    let Some(inverse) = scaled.try_inverse() else {
        return confident;
    };
    // Rounding of the files themselves leaves at least this much.
    let noise = left.max(power * 1e-9) / (segments as f64 * OBSERVATIONS_A_SEGMENT).max(1.0);
    for (position, &track) in used.iter().enumerate() {
        let spread = (noise * inverse[(position, position)].max(0.0)).sqrt() / scale[position];
        let size = factors[track].max(0.1 * typical(factors));
        confident[track] = spread <= CONFIDENT_ERROR * size;
    }
    confident
}

fn typical(factors: &DVector<f64>) -> f64 {
    let mut positive: Vec<f64> = factors.iter().copied().filter(|f| *f > 0.0).collect();
    positive.sort_by(f64::total_cmp);
    positive.get(positive.len() / 2).copied().unwrap_or(1.0)
}
