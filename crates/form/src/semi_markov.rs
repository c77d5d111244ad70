//! The best cut of the bars into named sections, and how likely it is.
//!
//! A semi-Markov conditional random field: every run of bars is scored for each
//! kind of section, every change of kind as well; dynamic programming finds the
//! best cut and the probabilities of all others.
//!
//! Source: S. Sarawagi, W. Cohen, "Semi-Markov conditional random fields for
//! information extraction", NIPS 2004, sections 2 and 3.

use crate::features::{Features, LONGEST};
use crate::weights::Weights;

/// Kinds of section.
pub(crate) const KINDS: usize = 5;

/// What a section is worth besides, in the cut alone: the most likely cut has fewer
/// borders than the one with the best expected F.
const BONUS: f64 = 0.5;

type Scores = [f64; KINDS];
const NEVER: Scores = [f64::NEG_INFINITY; KINDS];

/// The scores of all runs of bars.
pub(crate) struct Lattice<'a> {
    bars: usize,
    weights: &'a Weights,
    /// Of the runs that end after bar `end - 1`, the longest first.
    runs: Vec<Vec<Scores>>,
}

/// The bars `from..to` and their kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Run {
    pub from: usize,
    pub to: usize,
    pub kind: usize,
}

impl<'a> Lattice<'a> {
    pub fn of(features: &Features, weights: &'a Weights) -> Self {
        let bars = features.count();
        let runs = (0..=bars)
            .map(|to| {
                (to.saturating_sub(LONGEST)..to)
                    .map(|from| score(features, weights, from, to))
                    .collect()
            })
            .collect();
        Self {
            bars,
            weights,
            runs,
        }
    }

    fn run(&self, from: usize, to: usize) -> &Scores {
        &self.runs[to][from - to.saturating_sub(LONGEST)]
    }

    /// The best cut, in order, where every section is worth [`BONUS`] more.
    pub fn best(&self) -> Vec<Run> {
        let mut best = vec![NEVER; self.bars + 1];
        let mut start = vec![[0; KINDS]; self.bars + 1];
        // the best score of all before a bar, and the kind it ends with, if the
        // section that starts there is of a kind
        let mut before = vec![NEVER; self.bars + 1];
        let mut last = vec![[0; KINDS]; self.bars + 1];
        before[0] = [0.0; KINDS];
        for to in 1..=self.bars {
            let first = to.saturating_sub(LONGEST);
            for (offset, run) in self.runs[to].iter().enumerate() {
                for kind in 0..KINDS {
                    let score = before[first + offset][kind] + run[kind] + BONUS;
                    if score > best[to][kind] {
                        best[to][kind] = score;
                        start[to][kind] = first + offset;
                    }
                }
            }
            for kind in 0..KINDS {
                for (earlier, changes) in self.weights.changes.iter().enumerate() {
                    let score = best[to][earlier] + changes[kind];
                    if score > before[to][kind] {
                        before[to][kind] = score;
                        last[to][kind] = earlier;
                    }
                }
            }
        }
        let mut kind = (0..KINDS).fold(0, |best_kind, kind| {
            if best[self.bars][kind] > best[self.bars][best_kind] {
                kind
            } else {
                best_kind
            }
        });
        let (mut cut, mut to) = (Vec::new(), self.bars);
        while to > 0 {
            let from = start[to][kind];
            cut.push(Run { from, to, kind });
            kind = last[from][kind];
            to = from;
        }
        cut.reverse();
        cut
    }

    /// Probability of every bar line to be the start of a section; of 1 at the
    /// first.
    pub fn boundaries(&self) -> Vec<f64> {
        let mut ended = vec![NEVER; self.bars + 1];
        let mut before = vec![NEVER; self.bars + 1];
        before[0] = [0.0; KINDS];
        for to in 1..=self.bars {
            let first = to.saturating_sub(LONGEST);
            ended[to] = std::array::from_fn(|kind| {
                log_sum((first..to).map(|from| before[from][kind] + self.run(from, to)[kind]))
            });
            before[to] = std::array::from_fn(|kind| {
                log_sum((0..KINDS).map(|k| ended[to][k] + self.weights.changes[k][kind]))
            });
        }
        let total = log_sum(ended[self.bars].iter().copied());
        let mut rest = vec![NEVER; self.bars + 1];
        rest[self.bars] = [0.0; KINDS];
        let mut likely = vec![1.0; self.bars];
        for from in (0..self.bars).rev() {
            let last = (from + LONGEST).min(self.bars);
            let after: Scores = std::array::from_fn(|kind| {
                log_sum((from + 1..=last).map(|to| self.run(from, to)[kind] + rest[to][kind]))
            });
            likely[from] = log_sum((0..KINDS).map(|k| before[from][k] + after[k])) - total;
            likely[from] = likely[from].exp().min(1.0);
            rest[from] = std::array::from_fn(|kind| {
                log_sum((0..KINDS).map(|k| self.weights.changes[kind][k] + after[k]))
            });
        }
        likely
    }
}

fn score(features: &Features, weights: &Weights, from: usize, to: usize) -> Scores {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let shared = dot(&features.shared(from, to), &weights.shared);
    let typed = features.typed(from, to);
    std::array::from_fn(|kind| shared + dot(&typed, &weights.typed[kind]))
}

/// Logarithm of the sum of exponentials; minus infinity for none.
fn log_sum(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let highest = values.clone().fold(f64::NEG_INFINITY, f64::max);
    if highest == f64::NEG_INFINITY {
        return highest;
    }
    highest
        + values
            .map(|value| (value - highest).exp())
            .sum::<f64>()
            .ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weights_mix::WEIGHTS;

    /// Runs that end or start at bar 6 are worth more.
    fn lattice() -> Lattice<'static> {
        let worth = |bar: usize| if bar == 6 { 8.0 } else { 0.0 };
        let runs = (0..=20)
            .map(|to| {
                (0..to)
                    .map(|from| [worth(from) + worth(to) - 12.0; KINDS])
                    .collect()
            })
            .collect();
        Lattice {
            bars: 20,
            weights: &WEIGHTS,
            runs,
        }
    }

    #[test]
    fn forward_and_backward_sums_agree() {
        // the first bar starts a section for certain, which the two sums only say
        // where they add up to the same total
        let likely = lattice().boundaries();
        assert!((likely[0] - 1.0).abs() < 1e-9, "{}", likely[0]);
        assert!(likely.iter().all(|p| (0.0..=1.0).contains(p)));
    }

    #[test]
    fn the_best_cut_is_where_the_scores_say() {
        let lattice = lattice();
        let cut = lattice.best();
        let starts: Vec<usize> = cut.iter().map(|run| run.from).collect();
        assert_eq!((starts, cut[1].to), (vec![0, 6], 20));
        let likely = lattice.boundaries();
        let other = likely[1..].iter().enumerate().filter(|(i, _)| *i != 5);
        assert!(likely[6] > 0.9 && other.map(|(_, p)| p).sum::<f64>() < 0.5);
    }
}
