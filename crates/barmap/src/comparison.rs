//! Mix and reference side by side, as people read them.

use serde::{Deserialize, Serialize};

use crate::bar_map::{BarMap, power_db};
use crate::difference::less;
use crate::low_reading::LowReading;
use crate::sheet::{LowRows, RowName, Sheet, SheetRow};

/// One row of a comparison; levels to 0.1 dB.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ComparedRow {
    /// What it is.
    pub name: RowName,
    /// The mix by sixteenth; `None` for silence and where a place is not read.
    pub mix_db: Vec<Option<f64>>,
    /// The reference by sixteenth, at equal loudness.
    pub reference_db: Vec<Option<f64>>,
    /// Mix less reference by sixteenth, within +-30 dB; empty where the bars
    /// have different numbers of sixteenths.
    pub difference_db: Vec<Option<f64>>,
    /// Mix less reference over the whole bar; of a place where it plays.
    pub whole_db: Option<f64>,
}

/// Mix less reference in few rows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// Sixteenths in a bar of the mix.
    pub slots: usize,
    /// Sixteenths in a bar of the reference.
    pub reference_slots: usize,
    /// Whether these differ (3/4 beside 4/4): then only whole bars are compared.
    pub folded: bool,
    /// Which rows there are below 151 Hz; [`Sheet`]s of tracks take the same.
    #[serde(skip)]
    pub low_rows: LowRows,
    /// Rows, rising.
    pub rows: Vec<ComparedRow>,
}

/// A map with its low reading, where it has one.
pub type Read<'a> = (&'a BarMap, Option<&'a LowReading>);

impl Comparison {
    /// Compares at equal loudness: the reference is turned by
    /// `reference_gain_db` first. Below 151 Hz each side is read around its own
    /// notes where both have them, else in half octaves.
    pub fn of(mix: Read<'_>, reference: Read<'_>, reference_gain_db: f64) -> Self {
        let low_rows = LowRows::in_all(&[mix.1, reference.1]);
        let folded = mix.0.slots != reference.0.slots;
        let gain = 10f64.powf(reference_gain_db / 10.0);
        let mix_sheet = Sheet::of(mix.0, mix.1, low_rows);
        let reference_sheet = Sheet::of(reference.0, reference.1, low_rows);
        let pairs = mix_sheet.rows.into_iter().zip(reference_sheet.rows);
        Self {
            slots: mix.0.slots,
            reference_slots: reference.0.slots,
            folded,
            low_rows,
            rows: pairs
                .map(|(one, mut other)| {
                    let cells = other.cells.iter_mut().chain([&mut other.whole]);
                    cells.flatten().for_each(|power| *power *= gain);
                    compared(&one, &other, folded)
                })
                .collect(),
        }
    }
}

fn compared(mix: &SheetRow, reference: &SheetRow, folded: bool) -> ComparedRow {
    let levels = |row: &SheetRow| -> Vec<Option<f64>> {
        let level = |power: &Option<f64>| power.and_then(power_db).map(tenth);
        row.cells.iter().map(level).collect()
    };
    let loudest = [mix, reference]
        .into_iter()
        .flat_map(|row| row.cells.iter().flatten())
        .fold(0.0, |most: f64, &power| most.max(power));
    let difference =
        |pair: (Option<f64>, Option<f64>)| less((pair.0?, pair.1?), loudest).map(tenth);
    let cells = mix
        .cells
        .iter()
        .copied()
        .zip(reference.cells.iter().copied());
    ComparedRow {
        name: mix.name,
        mix_db: levels(mix),
        reference_db: levels(reference),
        difference_db: if folded {
            Vec::new()
        } else {
            cells.map(difference).collect()
        },
        whole_db: difference((mix.whole, reference.whole)),
    }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
