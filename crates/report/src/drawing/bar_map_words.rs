//! What a bar map shows, in words.

use cupel_units::read_db_change;

use super::bar_map::{ALIKE_DB, Shown};
use crate::view::BarMapRow;

/// Rows within this of the reference are called near.
const NEAR_DB: f64 = 2.0;
/// Rows this far below the loudest are faint.
const FAINT_DB: f64 = 35.0;
/// Rows and cells that are told one by one.
const TOLD: usize = 3;

/// The row farthest from the reference, or who owns most.
pub(super) fn heading(shown: &Shown) -> String {
    match farthest(shown).first() {
        Some((row, gap)) if gap.abs() >= ALIKE_DB => {
            let side = if *gap < 0.0 { "below" } else { "above" };
            let gap = gap.abs();
            let the = if row.by_note { "the " } else { "" };
            format!(
                "Over the bar the mix is farthest from the reference at {the}{}: {gap:.1} dB {side} it",
                row.label
            )
        }
        Some(_) => "Over the bar the mix is within 1 dB of the reference in every row".to_owned(),
        None => "Energy by sixteenth of the bar".to_owned(),
    }
}

/// Rows by their gap over the whole bar, the widest first; rows that are faint
/// on both sides come last.
fn farthest(shown: &Shown) -> Vec<(&BarMapRow, f64)> {
    let mut rows: Vec<(&BarMapRow, f64)> = shown
        .rows
        .iter()
        .filter_map(|row| Some((row, row.whole_db?)))
        .collect();
    let level = |row: &BarMapRow| {
        let levels = row
            .mix_db
            .iter()
            .chain(&row.reference_db)
            .flatten()
            .copied();
        levels.fold(f64::NEG_INFINITY, f64::max)
    };
    let highest = rows
        .iter()
        .map(|(row, _)| level(row))
        .fold(f64::NEG_INFINITY, f64::max);
    let faint = |row: &BarMapRow| level(row) < highest - FAINT_DB;
    rows.sort_by(|one, other| {
        let by_gap = other.1.abs().total_cmp(&one.1.abs());
        faint(one.0).cmp(&faint(other.0)).then(by_gap)
    });
    rows
}

pub(super) fn text(shown: &Shown) -> String {
    let mut text = String::from("The passage folded into one bar of sixteenths");
    if shown.reference_slots.is_some() {
        text.push_str(", mix and reference at equal loudness");
    }
    text.push('.');
    if shown.rows.iter().any(|row| row.by_note) {
        text.push_str(
            " In the lowest rows each side is read around its own bass notes and kick, \
             so another key changes nothing; they are empty where none plays.",
        );
    }
    if shown.reference_slots.is_some() {
        text.push_str(&against(shown));
    }
    if !shown.owners.is_empty() {
        text.push_str(&ownership(shown));
    }
    text
}

fn against(shown: &Shown) -> String {
    let mut text = String::new();
    if !shown.by_sixteenth() {
        text.push_str(" The bars are of different length, so only whole bars are compared.");
    }
    let rows = farthest(shown);
    let near = rows.iter().filter(|(_, gap)| gap.abs() <= NEAR_DB).count();
    text.push_str(&format!(" {near} of {} rows lie within 2 dB", rows.len()));
    let far: Vec<String> = rows
        .iter()
        .filter(|(_, gap)| gap.abs() > NEAR_DB)
        .take(TOLD)
        .map(|(row, gap)| format!("{} {}", row.label, read_db_change(*gap)))
        .collect();
    if !far.is_empty() {
        text.push_str(&format!("; widest: {}", far.join(", ")));
    }
    text.push('.');
    text + &cells(shown)
}

/// The widest gaps of single sixteenths, one a row.
fn cells(shown: &Shown) -> String {
    let mut cells: Vec<(&BarMapRow, usize, f64)> = Vec::new();
    for row in &shown.rows {
        let own = row.difference_db.iter().enumerate();
        cells.extend(
            own.filter_map(|(slot, gap)| Some((row, slot, (*gap)?)))
                .filter(|cell| !row.arrangement[cell.1]),
        );
    }
    cells.sort_by(|one, other| other.2.abs().total_cmp(&one.2.abs()));
    let mut rows: Vec<&str> = Vec::new();
    cells.retain(|(row, _, _)| {
        let first = !rows.contains(&row.label.as_str());
        rows.push(&row.label);
        first
    });
    let told: Vec<String> = cells
        .iter()
        .filter(|cell| cell.2.abs() > NEAR_DB)
        .take(TOLD)
        .map(|(row, slot, gap)| {
            format!(
                "{} on {}, {}",
                row.label,
                place(*slot),
                read_db_change(*gap)
            )
        })
        .collect();
    if told.is_empty() {
        return String::new();
    }
    format!(" Single sixteenths: {}.", told.join("; "))
}

/// `beat 2`, or `sixteenth 3 of beat 2`.
fn place(slot: usize) -> String {
    match (slot / 4 + 1, slot % 4 + 1) {
        (beat, 1) => format!("beat {beat}"),
        (beat, sixteenth) => format!("sixteenth {sixteenth} of beat {beat}"),
    }
}

/// The strongest owners, each with the row in which it owns the most cells.
fn ownership(shown: &Shown) -> String {
    let owned = |row: &BarMapRow, name: &str| {
        let owners = row.owners.iter().flatten();
        owners.filter(|owner| owner.track == name).count()
    };
    let told: Vec<String> = shown
        .owners
        .iter()
        .take(4)
        .filter_map(|(_, name)| {
            let best = shown.rows.iter().rev().max_by_key(|row| owned(row, name))?;
            Some(format!("{name} (most at {})", best.label))
        })
        .collect();
    format!(" Most cells belong to {}.", told.join(", "))
}
