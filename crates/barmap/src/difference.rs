//! One bar map beside another at equal loudness.

use serde::{Deserialize, Serialize};

use crate::bar_map::{BarMap, power_db};
use crate::rows::Row;

/// Cells this far (30 dB) below the loudest of their row, on either side, count
/// as silent: both sides get that much added.
const ROW_FLOOR: f64 = 1e-3;
/// And none counts for less than -100 dB.
const FLOOR: f64 = 1e-10;

/// Mix less reference by row and sixteenth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Difference {
    /// Sixteenths compared: those of the bar, or 1 where both maps were folded.
    pub slots: usize,
    /// Whether the bars have different numbers of sixteenths (3/4 beside 4/4):
    /// both maps were then averaged over the bar first.
    pub folded: bool,
    /// Rows that both maps have.
    pub rows: Vec<Row>,
    /// Difference in dB by cell (`row * slots + slot`), within +-30 dB; `None`
    /// where both sides are silent.
    pub cells_db: Vec<Option<f64>>,
    /// The same for the mean over the bar, by row.
    pub rows_db: Vec<Option<f64>>,
    /// How far the bars themselves differ within each passage: the root of the
    /// mean of both squared spreads, by cell. A difference below it says little.
    pub spread_db: Vec<Option<f64>>,
}

/// Mix less reference, the reference turned by `reference_gain_db` first (what
/// makes both equally loud). Compares the mean power of left and right.
pub fn compare(mix: &BarMap, reference: &BarMap, reference_gain_db: f64) -> Difference {
    let gain = 10f64.powf(reference_gain_db / 10.0);
    let pairs = mix.rows.iter().zip(&reference.rows);
    let alike = |(one, other): &(&Row, &Row)| (one.centre_hz - other.centre_hz).abs() < 1e-6;
    let rows: Vec<Row> = pairs.take_while(alike).map(|(row, _)| *row).collect();
    let folded = mix.slots != reference.slots;
    let slots = if folded { 1 } else { mix.slots };
    let mut difference = Difference {
        slots,
        folded,
        cells_db: Vec::new(),
        rows_db: Vec::new(),
        spread_db: Vec::new(),
        rows,
    };
    for row in 0..difference.rows.len() {
        let value = |map: &BarMap, slot: usize| match folded {
            true => map.row_mean(row),
            false => map.mean(row, slot),
        };
        let cells: Vec<(f64, f64)> = (0..slots)
            .map(|slot| (value(mix, slot), gain * value(reference, slot)))
            .collect();
        let loudest = cells
            .iter()
            .fold(0.0, |most: f64, cell| most.max(cell.0).max(cell.1));
        let less = |cell: (f64, f64)| less(cell, loudest);
        difference
            .cells_db
            .extend(cells.iter().map(|&cell| less(cell)));
        difference
            .rows_db
            .push(less((mix.row_mean(row), gain * reference.row_mean(row))));
        difference.spread_db.extend((0..slots).map(|slot| {
            let spread = |map: &BarMap| spread_of(map, row, slot, folded);
            let (one, other) = (spread(mix), spread(reference));
            let both = one.unwrap_or(0.0).hypot(other.unwrap_or(0.0));
            one.or(other).map(|_| both / 2f64.sqrt())
        }));
    }
    difference
}

/// Mix less reference in dB for powers of a row whose loudest cell has the power
/// `loudest`; `None` where both are silent.
pub(crate) fn less((mix, reference): (f64, f64), loudest: f64) -> Option<f64> {
    let floor = (ROW_FLOOR * loudest).max(FLOOR);
    let heard = mix.max(reference) > floor;
    heard.then(|| 10.0 * ((mix + floor) / (reference + floor)).log10())
}

/// Spread of a cell, or where folded the mean of its row's.
fn spread_of(map: &BarMap, row: usize, slot: usize, folded: bool) -> Option<f64> {
    let cells = if folded { 0..map.slots } else { slot..slot + 1 };
    let spreads: Vec<f64> = cells
        .filter_map(|slot| *map.spread_db.get(row * map.slots + slot)?)
        .map(f64::from)
        .collect();
    let count = spreads.len();
    (count > 0).then(|| spreads.iter().sum::<f64>() / count as f64)
}

impl Difference {
    /// Level of the mean over the bar between two frequencies, mix less
    /// reference; `None` where either holds nothing there.
    pub fn band_db(
        mix: &BarMap,
        reference: &BarMap,
        reference_gain_db: f64,
        (low_hz, high_hz): (f64, f64),
    ) -> Option<f64> {
        let level = |map: &BarMap| {
            let inside = |row: &Row| row.centre_hz >= low_hz && row.centre_hz < high_hz;
            let rows = map.rows.iter().enumerate().filter(|(_, row)| inside(row));
            power_db(rows.map(|(index, _)| map.row_mean(index)).sum())
        };
        Some(level(mix)? - level(reference)? - reference_gain_db)
    }
}
