//! Files that are sums of other files.
//!
//! What it measures: how exactly a file is made by the others with factors that
//! are not negative. If c = a + b, then c is made by a and b; a = c - b would
//! need a negative factor, so a is never named.
//! Why it matters: a group beside its members counts them twice.
//! Threshold and source: [`EXACT_SUM_DB`] and [`PROBABLE_SUM_DB`].
//! How to mend: nothing to do; the sum is left out.
//! When it is wrong: a group with strong processing is not recognised; it then
//! shows as a difference from the bounce.

use nalgebra::DMatrix;

use crate::nnls::{left_over, non_negative};
use crate::thresholds::{EXACT_SUM_DB, PROBABLE_SUM_DB, SUM_GAIN_SPREAD_DB};
use cupel_units::{amplitude_to_db, db_to_power, power_to_db};

/// A file that others make.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct FoundSum {
    pub track: usize,
    pub of: Vec<usize>,
    pub residual_db: f64,
}

impl FoundSum {
    pub fn is_exact(&self) -> bool {
        self.residual_db <= EXACT_SUM_DB
    }
}

/// All sums among the first `count` columns, in order of columns.
///
/// Found one by one, the most exact first; a sum takes no part in explaining
/// what is left. At the end each is explained again by files that are no sums.
pub(crate) fn find_sums(gram: &DMatrix<f64>, count: usize) -> Vec<FoundSum> {
    let mut kept: Vec<usize> = (0..count).filter(|&i| gram[(i, i)] > 0.0).collect();
    let mut found: Vec<FoundSum> = Vec::new();
    while let Some(best) = kept
        .iter()
        .filter_map(|&track| explain(gram, track, &kept))
        .min_by(|a, b| {
            (a.residual_db, b.of.len())
                .partial_cmp(&(b.residual_db, a.of.len()))
                .unwrap_or(std::cmp::Ordering::Equal)
        })
    {
        kept.retain(|&track| track != best.track);
        found.push(best);
    }
    for sum in &mut found {
        if let Some(plain) = explain(gram, sum.track, &kept)
            && plain.residual_db <= sum.residual_db.max(EXACT_SUM_DB) + 1.0
        {
            *sum = plain;
        }
    }
    found.sort_by_key(|sum| sum.track);
    found
}

/// `track` as a sum of two or more of `others`, if it is one.
fn explain(gram: &DMatrix<f64>, track: usize, others: &[usize]) -> Option<FoundSum> {
    let among: Vec<usize> = others.iter().copied().filter(|&i| i != track).collect();
    let b = gram.column(track).into_owned();
    let power = gram[(track, track)];
    let factors = non_negative(gram, &b, &among);
    let residual = left_over(gram, &b, power, &factors) / power;
    let residual_db = power_to_db(residual.max(1e-15));
    if residual_db > PROBABLE_SUM_DB {
        return None;
    }
    // A part must carry more than what is left unexplained, else it is noise.
    let least = (2.0 * residual).max(db_to_power(-70.0));
    let of: Vec<usize> = among
        .iter()
        .copied()
        .filter(|&i| factors[i] * factors[i] * gram[(i, i)] / power > least)
        .collect();
    let exact = residual_db <= EXACT_SUM_DB;
    let alike = exact || gain_spread_db(&of, &factors) <= SUM_GAIN_SPREAD_DB;
    (of.len() >= 2 && alike).then_some(FoundSum {
        track,
        of,
        residual_db,
    })
}

fn gain_spread_db(of: &[usize], factors: &nalgebra::DVector<f64>) -> f64 {
    let gains = of.iter().map(|&i| amplitude_to_db(factors[i]));
    let (low, high) = gains.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), gain| {
        (low.min(gain), high.max(gain))
    });
    high - low
}
