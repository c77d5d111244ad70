//! The busiest passage: where a comparison is worth most.

use cupel_measure::LoudnessCurve;
use serde::{Deserialize, Serialize};

/// Length of a passage where there are no bars to count, in seconds
/// (common practice, no source).
pub const PASSAGE_S: f64 = 30.0;

/// Length of the short-term window, in seconds (EBU Tech 3341).
const SHORT_TERM_S: f64 = 3.0;

/// Loudness counted for silence when loudness values are averaged, in LUFS: the
/// absolute gate of ITU-R BS.1770.
const FLOOR_LUFS: f64 = -70.0;

/// A stretch of time, in seconds from the start.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// Where it starts.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
}

impl Stretch {
    /// Its length in seconds.
    pub fn seconds(&self) -> f64 {
        self.end_s - self.start_s
    }
}

/// The stretch of `length_s` with the highest mean short-term loudness; the
/// earliest of equals. Shorter material is one stretch as a whole; `None` where
/// there is no material.
pub fn busiest_stretch(curve: &LoudnessCurve, seconds: f64, length_s: f64) -> Option<Stretch> {
    if seconds <= 0.0 {
        return None;
    }
    let values: Vec<f64> = curve
        .short_term_lufs
        .iter()
        .map(|&lufs| f64::from(lufs).max(FLOOR_LUFS))
        .collect();
    // The value at index i is of the window that ends at (i + 1) hops.
    let first = (SHORT_TERM_S / curve.hop_s).round() as usize - 1;
    let count = ((length_s - SHORT_TERM_S) / curve.hop_s).round() as usize + 1;
    if length_s >= seconds || length_s < SHORT_TERM_S || values.len() < first + count {
        return Some(Stretch {
            start_s: 0.0,
            end_s: seconds,
        });
    }
    let best = best_run(values.get(first..)?, count)?;
    let start_s = best as f64 * curve.hop_s;
    Some(Stretch {
        start_s,
        end_s: start_s + length_s,
    })
}

/// Start of the run of `count` values with the highest sum.
fn best_run(values: &[f64], count: usize) -> Option<usize> {
    // Running sums of whole hundredths: no rounding gathers over the run.
    let hundredths: Vec<i64> = values.iter().map(|v| (v * 100.0).round() as i64).collect();
    let mut sum: i64 = hundredths.get(..count)?.iter().sum();
    let (mut best, mut best_sum) = (0, sum);
    for start in 1..=hundredths.len() - count {
        sum += hundredths[start + count - 1] - hundredths[start - 1];
        if sum > best_sum {
            (best, best_sum) = (start, sum);
        }
    }
    Some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_loudest_run() {
        let mut values = vec![-30.0; 100];
        values[40..60].fill(-10.0);
        assert_eq!(best_run(&values, 20), Some(40));
        assert_eq!(best_run(&values, 10), Some(40));
        assert_eq!(best_run(&values, 101), None);
    }
}
