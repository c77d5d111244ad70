//! Whose the cells of a bar map are: a map of territories with their letters.

use super::bar_map::Shown;
use super::bar_map_grid::Grid;
use crate::svg::{Anchor, Svg, fit_name, text_width};
use crate::view::BarMapRow;

/// Owners in order of the cells they own, each with a letter of its name where
/// one is free.
pub(super) fn codes(rows: &[BarMapRow]) -> Vec<(char, String)> {
    let mut counts: Vec<(String, usize)> = Vec::new();
    for owner in rows.iter().flat_map(|row| row.owners.iter().flatten()) {
        match counts.iter_mut().find(|(name, _)| *name == owner.track) {
            Some((_, count)) => *count += 1,
            None => counts.push((owner.track.clone(), 1)),
        }
    }
    counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let names: Vec<&str> = counts.iter().map(|(name, _)| name.as_str()).collect();
    let shared = shared_start(&names);
    let mut taken: Vec<char> = Vec::new();
    let codes: Vec<char> = names
        .iter()
        .map(|name| {
            let own = name.chars().skip(shared).filter(|one| one.is_alphabetic());
            let code = own
                .flat_map(char::to_uppercase)
                .chain('A'..='Z')
                .chain('a'..='z')
                .chain('0'..='9')
                .find(|letter| !taken.contains(letter));
            taken.extend(code);
            code.unwrap_or('?')
        })
        .collect();
    let names = counts.iter().map(|(name, _)| name.clone());
    codes.into_iter().zip(names).collect()
}

/// How many characters all names begin with; none for a single name.
fn shared_start(names: &[&str]) -> usize {
    let Some((first, others)) = names.split_first().filter(|(_, others)| !others.is_empty()) else {
        return 0;
    };
    let same = |other: &&str| {
        let pairs = first.chars().zip(other.chars());
        pairs.take_while(|(one, other)| one == other).count()
    };
    let shared = others.iter().map(same).min().unwrap_or(0);
    // Back to where a word begins.
    let start: Vec<char> = first.chars().take(shared).collect();
    let words = start.iter().rposition(|one| !one.is_alphabetic());
    words.map_or(0, |last| last + 1)
}

/// The letters and names, in lines of at most `width` pixels.
pub(super) fn key_lines(owners: &[(char, String)], width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for (code, name) in owners {
        let entry = format!("{code} = {}", fit_name(name, width / 2.0));
        match lines.last_mut() {
            Some(line) if text_width(line) + text_width(&entry) + 16.0 < width => {
                line.push_str(", ");
                line.push_str(&entry);
            }
            _ => lines.push(entry),
        }
    }
    lines
}

/// Index of the owner of a cell.
fn owner(shown: &Shown, row: usize, slot: usize) -> Option<usize> {
    let owner = shown.rows.get(row)?.owners.get(slot)?.as_ref()?;
    shown
        .owners
        .iter()
        .position(|(_, name)| *name == owner.track)
}

/// Territories: borders between owners, shade where one has more than half, a
/// letter in each.
pub(super) fn paint(svg: &mut Svg, grid: &Grid, shown: &Shown) {
    let mut shades = Vec::new();
    for (row, one) in shown.rows.iter().enumerate() {
        for (slot, owner) in one.owners.iter().enumerate() {
            if owner.as_ref().is_some_and(|owner| owner.share > 0.5) {
                let (left, top) = grid.corner(row, slot);
                shades.push([left, top, grid.cell_width, grid.row_height]);
            }
        }
    }
    svg.boxes("pale", &shades);
    svg.lines("border", &borders(grid, shown));
    for territory in territories(shown) {
        letter(svg, grid, shown, &territory);
    }
}

fn borders(grid: &Grid, shown: &Shown) -> Vec<[(f64, f64); 2]> {
    let mut lines = Vec::new();
    for row in 0..shown.rows.len() {
        for slot in 0..shown.slots {
            let here = owner(shown, row, slot);
            let (left, top) = grid.corner(row, slot);
            let (right, bottom) = (left + grid.cell_width, top + grid.row_height);
            if slot + 1 < shown.slots && owner(shown, row, slot + 1) != here {
                lines.push([(right, top), (right, bottom)]);
            }
            if joined(shown, row, row + 1) && owner(shown, row + 1, slot) != here {
                lines.push([(left, top), (right, top)]);
            }
        }
    }
    lines
}

/// Whether a row touches the one above it.
fn joined(shown: &Shown, row: usize, above: usize) -> bool {
    let by_note = |row: usize| shown.rows.get(row).map(|row| row.by_note);
    above < shown.rows.len() && by_note(row) == by_note(above)
}

/// Cells of one owner that touch, territory by territory.
fn territories(shown: &Shown) -> Vec<Vec<(usize, usize)>> {
    let mut seen = vec![false; shown.rows.len() * shown.slots];
    let mut all = Vec::new();
    for start in 0..seen.len() {
        let cell = (start / shown.slots, start % shown.slots);
        let Some(here) = owner(shown, cell.0, cell.1).filter(|_| !seen[start]) else {
            continue;
        };
        seen[start] = true;
        let (mut territory, mut waiting) = (Vec::new(), vec![cell]);
        while let Some((row, slot)) = waiting.pop() {
            territory.push((row, slot));
            let mut near = vec![(row, slot + 1)];
            near.extend(slot.checked_sub(1).map(|before| (row, before)));
            near.extend(joined(shown, row, row + 1).then_some((row + 1, slot)));
            near.extend(
                row.checked_sub(1)
                    .filter(|&below| joined(shown, below, row))
                    .map(|below| (below, slot)),
            );
            for (row, slot) in near {
                let index = row * shown.slots + slot;
                if slot < shown.slots && !seen[index] && owner(shown, row, slot) == Some(here) {
                    seen[index] = true;
                    waiting.push((row, slot));
                }
            }
        }
        all.push(territory);
    }
    all
}

/// Writes the name into a territory's longest run where it fits, else its letter.
fn letter(svg: &mut Svg, grid: &Grid, shown: &Shown, territory: &[(usize, usize)]) {
    let Some(&(row, slot)) = territory.first() else {
        return;
    };
    let Some((code, name)) = owner(shown, row, slot).and_then(|owner| shown.owners.get(owner))
    else {
        return;
    };
    let (row, from, to) = widest_run(territory);
    let (x, y) = grid.centre(row, from);
    let middle = (x + (to - from) as f64 * grid.cell_width / 2.0, y + 4.3);
    let room = (to - from + 1) as f64 * grid.cell_width - 8.0;
    let words = if text_width(name) <= room {
        name.clone()
    } else {
        code.to_string()
    };
    svg.text("small", Anchor::Middle, middle, &words);
}

/// Row, first and last slot of the longest run; of equals the middle one.
fn widest_run(territory: &[(usize, usize)]) -> (usize, usize, usize) {
    let mut cells = territory.to_vec();
    cells.sort_unstable();
    let mut runs: Vec<(usize, usize, usize)> = Vec::new();
    for (row, slot) in cells {
        match runs.last_mut() {
            Some(run) if run.0 == row && run.2 + 1 == slot => run.2 = slot,
            _ => runs.push((row, slot, slot)),
        }
    }
    let longest = runs.iter().map(|run| run.2 - run.1).max().unwrap_or(0);
    runs.retain(|run| run.2 - run.1 == longest);
    runs.get(runs.len() / 2).copied().unwrap_or((0, 0, 0))
}
