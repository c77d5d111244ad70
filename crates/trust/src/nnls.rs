//! Least squares with no negative factors, from inner products alone.
//!
//! Source: C. L. Lawson and R. J. Hanson, Solving Least Squares Problems
//! (1974), chapter 23; in the form on normal equations of R. Bro and S. de
//! Jong, "A fast non-negativity-constrained least squares algorithm", Journal
//! of Chemometrics 11 (1997) (both from memory, unconfirmed).

use nalgebra::{DMatrix, DVector};

/// Added to the diagonal, relative to it, so that copies do not make the
/// equations unsolvable.
const RIDGE: f64 = 1e-10;

/// Factors `x >= 0` that minimise `x'Gx - 2 b'x` over the columns in `among`;
/// all other factors are 0.
///
/// `gram` is `n x n`, symmetric, not negative definite. Columns without energy
/// get 0.
pub(crate) fn non_negative(gram: &DMatrix<f64>, b: &DVector<f64>, among: &[usize]) -> DVector<f64> {
    let count = gram.nrows();
    let mut x = DVector::zeros(count);
    let mut passive: Vec<usize> = Vec::new();
    let largest = among.iter().map(|&i| gram[(i, i)]).fold(0.0, f64::max);
    let usable: Vec<usize> = among
        .iter()
        .copied()
        .filter(|&i| gram[(i, i)] > largest * 1e-14)
        .collect();
    for _ in 0..3 * usable.len() + 3 {
        let Some(entering) = steepest(gram, b, &x, &usable, &passive) else {
            break;
        };
        passive.push(entering);
        passive.sort_unstable();
        if !settle(gram, b, &mut x, &mut passive) {
            break;
        }
    }
    x
}

/// Column whose factor, now 0, would lower the error most; scaled so that quiet
/// columns count like loud ones.
fn steepest(
    gram: &DMatrix<f64>,
    b: &DVector<f64>,
    x: &DVector<f64>,
    usable: &[usize],
    passive: &[usize],
) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for &i in usable.iter().filter(|i| !passive.contains(i)) {
        let slope = b[i] - (gram.row(i) * x)[0];
        let gain = slope / gram[(i, i)].sqrt();
        let noise = 1e-9 * b[i].abs().max(f64::MIN_POSITIVE) / gram[(i, i)].sqrt();
        if gain > noise && best.is_none_or(|(_, most)| gain > most) {
            best = Some((i, gain));
        }
    }
    best.map(|(i, _)| i)
}

/// Solves for the passive columns, dropping those that would turn negative.
fn settle(
    gram: &DMatrix<f64>,
    b: &DVector<f64>,
    x: &mut DVector<f64>,
    passive: &mut Vec<usize>,
) -> bool {
    for _ in 0..=passive.len() {
        let Some(solved) = solve(gram, b, passive) else {
            return false;
        };
        if solved.iter().all(|&value| value > 0.0) {
            x.fill(0.0);
            for (&i, &value) in passive.iter().zip(solved.iter()) {
                x[i] = value;
            }
            return true;
        }
        let step = passive
            .iter()
            .zip(solved.iter())
            .filter(|(_, value)| **value <= 0.0)
            .map(|(&i, &value)| x[i] / (x[i] - value).max(f64::MIN_POSITIVE))
            .fold(1.0, f64::min);
        for (&i, &value) in passive.iter().zip(solved.iter()) {
            x[i] += step * (value - x[i]);
        }
        let before = passive.len();
        passive.retain(|&i| x[i] > 1e-15);
        if passive.len() == before || passive.is_empty() {
            return false;
        }
    }
    false
}

/// Plain least squares over `columns`, with the ridge; columns are scaled to
/// one energy first.
pub(crate) fn solve(
    gram: &DMatrix<f64>,
    b: &DVector<f64>,
    columns: &[usize],
) -> Option<DVector<f64>> {
    let scale: Vec<f64> = columns.iter().map(|&i| gram[(i, i)].sqrt()).collect();
    let size = columns.len();
    let scaled = DMatrix::from_fn(size, size, |r, c| {
        let product = gram[(columns[r], columns[c])] / (scale[r] * scale[c]);
        if r == c { product + RIDGE } else { product }
    });
    let right = DVector::from_fn(size, |r, _| b[columns[r]] / scale[r]);
    let solved = scaled.cholesky()?.solve(&right);
    Some(DVector::from_fn(size, |r, _| solved[r] / scale[r]))
}

/// Power left of a target of power `target` and products `b` after factors `x`.
pub(crate) fn left_over(
    gram: &DMatrix<f64>,
    b: &DVector<f64>,
    target: f64,
    x: &DVector<f64>,
) -> f64 {
    (target - 2.0 * b.dot(x) + (gram * x).dot(x)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected values: scipy.optimize.nnls 1.17.1 on the matrix below.
    #[test]
    fn agrees_with_a_second_implementation() {
        let a = DMatrix::from_row_slice(
            4,
            3,
            &[1.0, 2.0, -1.0, 0.5, 1.0, 3.0, 2.0, -1.0, 1.0, 1.0, 1.0, 1.0],
        );
        let products = a.transpose() * &a;
        let cases = [
            (
                [1.0, 2.0, 3.0, 1.0],
                [1.2191235059760959, 0.0, 0.3944223107569721],
            ),
            (
                [3.0, 2.0, 1.0, 2.0],
                [0.9495798319327728, 1.0630252100840336, 0.13445378151260515],
            ),
            (
                [2.0, -1.0, -1.0, 3.0],
                [0.16867469879518068, 0.963855421686747, 0.0],
            ),
            ([1.0, 0.0, 4.0, -2.0], [1.1200000000000003, 0.0, 0.0]),
            (
                [4.0, 1.0, 2.0, -3.0],
                [0.7831325301204819, 0.40361445783132555, 0.0],
            ),
        ];
        for (target, expected) in cases {
            let y = DVector::from_row_slice(&target);
            let x = non_negative(&products, &(a.transpose() * &y), &[0, 1, 2]);
            for (got, want) in x.iter().zip(expected) {
                // The ridge moves the answer by about 1e-9.
                assert!((got - want).abs() < 1e-7, "{x} {expected:?}");
            }
        }
    }

    #[test]
    fn a_copy_of_a_column_does_no_harm() {
        let gram = DMatrix::from_row_slice(3, 3, &[1.0, 1.0, 0.1, 1.0, 1.0, 0.1, 0.1, 0.1, 1.0]);
        let b = DVector::from_row_slice(&[1.1, 1.1, 1.1]);
        let x = non_negative(&gram, &b, &[0, 1, 2]);
        assert!(
            (x[0] + x[1] - 1.0).abs() < 1e-6 && (x[2] - 1.0).abs() < 1e-6,
            "{x}"
        );
    }
}
