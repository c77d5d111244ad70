//! Rows of the proof: a goal, what was measured, whether it is reached.

use serde::Serialize;

/// How a row ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Verdict {
    Pass,
    Short,
    Skipped,
}

/// What is wanted of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Goal {
    AtLeast(f64),
    AtMost(f64),
}

/// One row.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Row {
    /// `pieces`, `arrangements`, `made sessions`, `sessions`, ...
    pub on: &'static str,
    pub name: String,
    pub goal: Goal,
    pub measured: Option<f64>,
    /// How many answers were judged.
    pub n: usize,
    pub verdict: Verdict,
    pub note: String,
}

impl Row {
    /// A row of one figure over `n` answers; without a figure it was skipped if there
    /// was nothing to judge, and is short otherwise.
    pub(crate) fn new(
        on: &'static str,
        name: impl Into<String>,
        goal: Goal,
        measured: Option<f64>,
        n: usize,
    ) -> Self {
        let verdict = match (measured, goal) {
            (None, _) if n == 0 => Verdict::Skipped,
            (None, _) => Verdict::Short,
            (Some(x), Goal::AtLeast(least)) if x >= least - 1e-9 => Verdict::Pass,
            (Some(x), Goal::AtMost(most)) if x <= most + 1e-9 => Verdict::Pass,
            (Some(_), _) => Verdict::Short,
        };
        Self {
            on,
            name: name.into(),
            goal,
            measured,
            n,
            verdict,
            note: String::new(),
        }
    }

    /// Share of answers that are right.
    pub(crate) fn share(
        on: &'static str,
        name: impl Into<String>,
        least: f64,
        right: impl IntoIterator<Item = bool>,
    ) -> Self {
        let right: Vec<bool> = right.into_iter().collect();
        let share = right.iter().filter(|r| **r).count() as f64 / right.len() as f64;
        let measured = (!right.is_empty()).then_some(share);
        Self::new(on, name, Goal::AtLeast(least), measured, right.len())
    }

    /// Mean of scores.
    pub(crate) fn mean(
        on: &'static str,
        name: impl Into<String>,
        least: f64,
        scores: impl IntoIterator<Item = f64>,
    ) -> Self {
        let scores: Vec<f64> = scores.into_iter().collect();
        let mean = scores.iter().sum::<f64>() / scores.len() as f64;
        let measured = (!scores.is_empty()).then_some(mean);
        Self::new(on, name, Goal::AtLeast(least), measured, scores.len())
    }

    pub(crate) fn noted(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }
}

/// The rows as a table.
pub(crate) fn table(rows: &[Row]) -> String {
    let mut text = format!(
        "{:<14} {:<58} {:>8} {:>9} {:>5}  {:<7}  {}\n",
        "on", "goal", "wanted", "measured", "n", "", ""
    );
    for row in rows {
        let wanted = match row.goal {
            Goal::AtLeast(x) => format!(">= {x}"),
            Goal::AtMost(x) => format!("<= {x}"),
        };
        let measured = row.measured.map_or("-".to_owned(), |x| format!("{x:.3}"));
        let verdict = match row.verdict {
            Verdict::Pass => "pass",
            Verdict::Short => "SHORT",
            Verdict::Skipped => "skipped",
        };
        let line = format!(
            "{:<14} {:<58} {wanted:>8} {measured:>9} {:>5}  {verdict:<7}  {}",
            row.on, row.name, row.n, row.note
        );
        text += line.trim_end();
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdicts() {
        let row = Row::share("x", "a", 0.75, [true, true, true, false]);
        assert_eq!(
            (row.verdict, row.measured, row.n),
            (Verdict::Pass, Some(0.75), 4)
        );
        let row = Row::share("x", "a", 0.8, [true, false]);
        assert_eq!(row.verdict, Verdict::Short);
        assert_eq!(Row::share("x", "a", 0.8, []).verdict, Verdict::Skipped);
        let row = Row::new("x", "a", Goal::AtMost(0.01), Some(0.02), 1);
        assert_eq!(row.verdict, Verdict::Short);
        let none = Row::new("x", "a", Goal::AtMost(0.01), None, 3);
        assert_eq!(none.verdict, Verdict::Short);
        assert!(table(&[none]).contains("SHORT"));
    }
}
