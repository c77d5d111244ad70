//! Whose energy a cell is.

use serde::{Deserialize, Serialize};

use crate::bar_map::{BarMap, SILENCE};
use crate::sheet::Sheet;

/// The track with the largest share of a cell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Owner<Id> {
    /// Whose it is.
    pub id: Id,
    /// Its share of the tracks' powers, 0 to 1.
    pub share: f64,
}

/// Owners of all cells.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Owners<Id> {
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Number of rows.
    pub rows: usize,
    /// By cell (`row * slots + slot`); `None` where every track is silent.
    pub cells: Vec<Option<Owner<Id>>>,
}

/// The owner of each cell: of equals the first. Shares are of the sum of the
/// tracks' own powers, as if nothing cancelled. Tracks whose maps have other
/// rows or slots than the first are left out.
pub fn owners<Id: Clone>(tracks: &[(Id, &BarMap)]) -> Owners<Id> {
    let (slots, rows) = tracks
        .first()
        .map_or((0, 0), |(_, map)| (map.slots, map.rows.len()));
    let alike = |map: &BarMap| map.slots == slots && map.rows.len() == rows;
    find(slots, rows, |row, slot| {
        let maps = tracks.iter().filter(|(_, map)| alike(map));
        maps.map(|(id, map)| (id, map.mean(row, slot))).collect()
    })
}

/// The same by the rows of sheets, all with the same low rows; the places of
/// every track read around the notes and kicks of the whole mix.
pub fn sheet_owners<Id: Clone>(tracks: &[(Id, Sheet)]) -> Owners<Id> {
    let (slots, rows) = tracks
        .first()
        .map_or((0, 0), |(_, sheet)| (sheet.slots, sheet.rows.len()));
    let alike = |sheet: &Sheet| sheet.slots == slots && sheet.rows.len() == rows;
    find(slots, rows, |row, slot| {
        let sheets = tracks.iter().filter(|(_, sheet)| alike(sheet));
        let power = |sheet: &Sheet| sheet.rows[row].cells.get(slot).copied().flatten();
        sheets
            .map(|(id, sheet)| (id, power(sheet).unwrap_or(0.0)))
            .collect()
    })
}

fn find<'a, Id: Clone + 'a>(
    slots: usize,
    rows: usize,
    powers: impl Fn(usize, usize) -> Vec<(&'a Id, f64)>,
) -> Owners<Id> {
    let cell = |index: usize| {
        let powers = powers(index / slots, index % slots);
        let sum: f64 = powers.iter().map(|(_, power)| power).sum();
        let (id, power) = powers
            .into_iter()
            .reduce(|best, next| if next.1 > best.1 { next } else { best })
            .filter(|&(_, power)| power > SILENCE)?;
        Some(Owner {
            id: id.clone(),
            share: power / sum,
        })
    };
    Owners {
        slots,
        rows,
        cells: (0..slots * rows).map(cell).collect(),
    }
}
