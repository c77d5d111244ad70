//! Whether sureness keeps its promise: of answers called sure 95 percent are right,
//! and at least 70 percent of what can be answered is called sure.

use std::fmt::Write;

/// From here on an answer is called sure.
pub(crate) const SURE: f64 = 0.9;
/// Lower edges of the rows of the table.
const BINS: [f64; 6] = [0.0, 0.3, 0.5, 0.7, 0.8, SURE];

/// One answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Claim {
    /// 0 to 1; 0 where it was not stated.
    pub sure: f64,
    /// Whether an answer was given at all.
    pub given: bool,
    /// Whether it is right.
    pub right: bool,
    /// Whether there is a right answer.
    pub answerable: bool,
}

/// All answers of one kind.
#[derive(Clone, Debug, Default)]
pub(crate) struct Claims(pub Vec<Claim>);

impl Claims {
    /// Adds an answer that can be right.
    pub(crate) fn add(&mut self, sure: Option<f64>, given: bool, right: bool) {
        self.push(sure, given, right, true);
    }

    /// Adds an answer where nothing should be said.
    pub(crate) fn add_unanswerable(&mut self, sure: Option<f64>, given: bool) {
        self.push(sure, given, false, false);
    }

    fn push(&mut self, sure: Option<f64>, given: bool, right: bool, answerable: bool) {
        self.0.push(Claim {
            sure: sure.unwrap_or(0.0),
            given,
            right,
            answerable,
        });
    }

    fn sure(&self) -> impl Iterator<Item = &Claim> {
        self.0.iter().filter(|c| c.given && c.sure >= SURE)
    }

    /// Number of answers called sure, and the share of them that is right; of none,
    /// none.
    pub(crate) fn right_of_sure(&self) -> (usize, Option<f64>) {
        let count = self.sure().count();
        let right = self.sure().filter(|claim| claim.right).count();
        (count, (count > 0).then(|| right as f64 / count as f64))
    }

    /// Number of cases that have an answer, and the share called sure.
    pub(crate) fn sure_of_answerable(&self) -> (usize, Option<f64>) {
        let all = self.0.iter().filter(|claim| claim.answerable).count();
        let sure = self.sure().filter(|claim| claim.answerable).count();
        (all, (all > 0).then(|| sure as f64 / all as f64))
    }

    /// Answers by sureness: how many, and what share is right.
    pub(crate) fn table(&self) -> Vec<Bin> {
        (0..BINS.len())
            .map(|index| {
                let from = BINS[index];
                let to = BINS.get(index + 1).copied().unwrap_or(f64::INFINITY);
                let within = |c: &&Claim| c.given && c.sure >= from && c.sure < to;
                let inside: Vec<&Claim> = self.0.iter().filter(within).collect();
                let right = inside.iter().filter(|claim| claim.right).count();
                Bin {
                    from,
                    to: to.min(1.0),
                    answers: inside.len(),
                    right: (!inside.is_empty()).then(|| right as f64 / inside.len() as f64),
                }
            })
            .collect()
    }
}

/// One row of a reliability table.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub(crate) struct Bin {
    pub from: f64,
    pub to: f64,
    pub answers: usize,
    /// Share that is right.
    pub right: Option<f64>,
}

/// The table in words.
pub(crate) fn print(name: &str, bins: &[Bin]) -> String {
    let mut text = format!("{name:<10}");
    for bin in bins {
        let share = bin
            .right
            .map_or("-".to_owned(), |share| format!("{share:.2}"));
        let _ = write!(
            text,
            "  {:.1}-{:.1}: {share:>4} of {:<4}",
            bin.from, bin.to, bin.answers
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn promises_are_counted() {
        let mut claims = Claims::default();
        claims.add(Some(0.95), true, true);
        claims.add(Some(0.9), true, false);
        claims.add(Some(0.2), true, false);
        claims.add(None, false, false);
        // sure of something that is not there
        claims.add_unanswerable(Some(1.0), true);
        // silence where nothing should be said, whatever it is sure of
        claims.add_unanswerable(Some(1.0), false);
        assert_eq!(claims.right_of_sure(), (3, Some(1.0 / 3.0)));
        assert_eq!(claims.sure_of_answerable(), (4, Some(0.5)));
        let table = claims.table();
        assert_eq!((table[5].answers, table[5].right), (3, Some(1.0 / 3.0)));
        assert_eq!((table[0].answers, table[0].right), (1, Some(0.0)));
        assert_eq!(table[2].right, None);
    }

    #[test]
    fn nothing_sure_is_no_share() {
        assert_eq!(Claims::default().right_of_sure(), (0, None));
    }
}
