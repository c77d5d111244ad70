//! Whose energy a cell is.

use serde::{Deserialize, Serialize};

use crate::bar_map::{BarMap, SILENCE};

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
    let Some((_, first)) = tracks.first() else {
        return Owners {
            slots: 0,
            rows: 0,
            cells: Vec::new(),
        };
    };
    let (slots, rows) = (first.slots, first.rows.len());
    let alike = |map: &BarMap| map.slots == slots && map.rows.len() == rows;
    let cell = |index: usize| {
        let (row, slot) = (index / slots, index % slots);
        let mut sum = 0.0;
        let mut best: Option<(&Id, f64)> = None;
        for (id, map) in tracks.iter().filter(|(_, map)| alike(map)) {
            let power = map.mean(row, slot);
            sum += power;
            if best.is_none_or(|(_, most)| power > most) {
                best = Some((id, power));
            }
        }
        let (id, power) = best.filter(|&(_, power)| power > SILENCE)?;
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
