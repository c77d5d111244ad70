//! One goal with what was measured, and how rows are shown.

use serde::Serialize;

use crate::bench::child::{Usage, median, median_usage};

/// What a goal bounds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind", content = "value")]
pub(crate) enum Goal {
    /// At most so much.
    AtMost(f64),
    /// At least so much.
    AtLeast(f64),
    /// Below.
    Below(f64),
    /// Told for the record only.
    None,
}

impl Goal {
    fn is_met(self, measured: f64) -> Option<bool> {
        match self {
            Self::AtMost(most) => Some(measured <= most),
            Self::AtLeast(least) => Some(measured >= least),
            Self::Below(below) => Some(measured < below),
            Self::None => None,
        }
    }

    fn text(self) -> String {
        match self {
            Self::AtMost(most) => format!("≤ {most}"),
            Self::AtLeast(least) => format!("≥ {least}"),
            Self::Below(below) => format!("< {below}"),
            Self::None => "-".into(),
        }
    }
}

/// One line of the result.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Row {
    /// What was run.
    pub what: String,
    /// What `measured` is.
    pub measure: &'static str,
    /// The goal.
    pub goal: Goal,
    /// A wish beyond the goal.
    pub stretch: Option<f64>,
    /// The median over all runs.
    pub measured: f64,
    /// Its smallest and largest value over all runs.
    pub range: [f64; 2],
    /// Whether the goal is met; `null` where there is none.
    pub met: Option<bool>,
    /// Median use of Cupel.
    pub cupel: Usage,
    /// Median use of the other program.
    pub other: Option<Usage>,
    /// Ratio of wall times, median over pairs.
    pub wall_ratio: Option<f64>,
}

impl Row {
    /// A row whose value was computed for each run.
    pub(crate) fn of_values(
        what: impl Into<String>,
        measure: &'static str,
        goal: Goal,
        values: &[f64],
        cupel: &[Usage],
        other: &[Usage],
    ) -> Self {
        let measured = median(values);
        let walls: Vec<f64> = pairs(cupel, other)
            .map(|(a, b)| a.wall_s / b.wall_s)
            .collect();
        Self {
            what: what.into(),
            measure,
            goal,
            stretch: None,
            measured,
            range: [
                values.iter().copied().fold(f64::INFINITY, f64::min),
                values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            ],
            met: goal.is_met(measured),
            cupel: median_usage(cupel),
            other: (!other.is_empty()).then(|| median_usage(other)),
            wall_ratio: (!walls.is_empty()).then(|| median(&walls)),
        }
    }

    /// CPU time of Cupel by that of another program, pair by pair.
    pub(crate) fn cpu_ratio(
        what: impl Into<String>,
        goal: Goal,
        cupel: &[Usage],
        other: &[Usage],
    ) -> Self {
        let ratios: Vec<f64> = pairs(cupel, other)
            .map(|(a, b)| a.cpu_s / b.cpu_s)
            .collect();
        Self::of_values(what, "CPU ratio", goal, &ratios, cupel, other)
    }

    /// The same row with a wish beyond its goal.
    pub(crate) fn with_stretch(mut self, stretch: f64) -> Self {
        self.stretch = Some(stretch);
        self
    }
}

fn pairs<'a>(a: &'a [Usage], b: &'a [Usage]) -> impl Iterator<Item = (&'a Usage, &'a Usage)> {
    a.iter().zip(b)
}

/// Heads of the columns.
const HEADS: [&str; 10] = [
    "what",
    "measure",
    "goal",
    "measured (range)",
    "met",
    "CPU s",
    "wall s",
    "peak MiB",
    "other CPU s, wall s",
    "wall ratio",
];

/// The rows as a table in Markdown, its columns lined up.
pub(crate) fn table(rows: &[Row]) -> String {
    let mut lines = vec![HEADS.map(str::to_owned)];
    lines.extend(rows.iter().map(cells));
    let widths: [usize; HEADS.len()] = std::array::from_fn(|column| {
        let lengths = lines.iter().map(|line| line[column].chars().count());
        lengths.max().unwrap_or(0)
    });
    lines.insert(1, widths.map(|width| "-".repeat(width)));
    let padded = lines.iter().map(|line| {
        let cells = line.iter().zip(widths);
        let cells: Vec<_> = cells
            .map(|(cell, width)| format!("{cell:width$}"))
            .collect();
        format!("| {} |\n", cells.join(" | "))
    });
    padded.collect()
}

fn cells(row: &Row) -> [String; HEADS.len()] {
    let stretch = row
        .stretch
        .map_or(String::new(), |s| format!(" (wish {s})"));
    let met = match row.met {
        Some(true) => "yes",
        Some(false) => "NO",
        None => "-",
    };
    let [low, high] = row.range.map(number);
    let other = |used: Usage| format!("{}, {}", number(used.cpu_s), number(used.wall_s));
    [
        row.what.clone(),
        row.measure.into(),
        format!("{}{stretch}", row.goal.text()),
        format!("{} ({low}..{high})", number(row.measured)),
        met.into(),
        number(row.cupel.cpu_s),
        number(row.cupel.wall_s),
        number(row.cupel.peak_mib),
        row.other.map_or("-".into(), other),
        row.wall_ratio.map_or("-".into(), number),
    ]
}

/// Three digits.
fn number(value: f64) -> String {
    match value.abs() {
        x if x >= 100.0 => format!("{value:.0}"),
        x if x >= 10.0 => format!("{value:.1}"),
        x if x >= 1.0 => format!("{value:.2}"),
        _ => format!("{value:.3}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn used(cpu_s: f64) -> Usage {
        Usage {
            cpu_s,
            wall_s: 2.0 * cpu_s,
            peak_mib: 10.0,
        }
    }

    #[test]
    fn ratios_are_taken_pair_by_pair() {
        let (a, b) = (
            [used(1.0), used(2.0), used(9.0)],
            [used(2.0), used(2.0), used(10.0)],
        );
        let row = Row::cpu_ratio("x", Goal::AtMost(0.9), &a, &b);
        assert_eq!((row.measured, row.range), (0.9, [0.5, 1.0]));
        assert_eq!(row.met, Some(true));
        assert_eq!(row.wall_ratio, Some(0.9));
    }

    #[test]
    fn goals() {
        assert_eq!(Goal::AtLeast(45.0).is_met(44.9), Some(false));
        assert_eq!(Goal::Below(0.3).is_met(0.3), Some(false));
        assert_eq!(Goal::None.is_met(1.0), None);
    }
}
