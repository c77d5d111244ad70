//! A bar map in the few rows that people read: the low end around its own notes,
//! and bands of two third octaves above.

use cupel_units::read_hertz;
use serde::{Deserialize, Serialize};

use crate::bar_map::BarMap;
use crate::low_place::LowPlace;
use crate::low_reading::LowReading;
use crate::rows::Row;

/// Semitones or third octaves in a row of a sheet.
const SEMITONES: usize = 6;
const THIRDS: usize = 2;
/// The row under the note is there where it holds more than this part (-4 dB) of
/// the note: fainter, it may be smear or what is left of a kick.
const LEAST_UNDER: f64 = 0.4;

/// What a row of a sheet is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RowName {
    /// A band with fixed edges.
    Band {
        /// Lower edge.
        low_hz: f64,
        /// Upper edge.
        high_hz: f64,
    },
    /// A place that moves with note or kick.
    Place(LowPlace),
}

impl RowName {
    /// Its name for people: the place, or the middle of the band.
    pub fn words(self) -> String {
        match self {
            Self::Place(place) => place.words().to_owned(),
            Self::Band { low_hz, high_hz } => {
                let middle = (low_hz * high_hz).sqrt();
                // Two figures say enough.
                let step = 10f64.powf(middle.max(1.0).log10().floor() - 1.0);
                read_hertz((middle / step).round() * step)
            }
        }
    }

    /// Whether the row moves with note or kick.
    pub fn is_by_note(self) -> bool {
        matches!(self, Self::Place(_))
    }
}

/// One row of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetRow {
    /// What it is.
    pub name: RowName,
    /// Power by sixteenth; `None` where a place is not read.
    pub cells: Vec<Option<f64>>,
    /// Power over the whole bar; of a place where it plays.
    pub whole: Option<f64>,
}

/// A bar map in few rows, rising: kick, bass, bands.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Rows.
    pub rows: Vec<SheetRow>,
}

/// Which rows a sheet has below 151 Hz.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LowRows {
    /// The places of the kick around its fundamental.
    pub kick: bool,
    /// All of its lows, where fundamentals are not known.
    pub kick_lows: bool,
    /// The places of the bass note; without them half octaves.
    pub bass: bool,
    /// And the place under the note.
    pub under_note: bool,
}

impl LowRows {
    /// The rows that every one of the readings has.
    pub fn in_all(readings: &[Option<&LowReading>]) -> Self {
        let all = |place: LowPlace| {
            !readings.is_empty()
                && readings
                    .iter()
                    .all(|reading| reading.is_some_and(|reading| reading.level_db(place).is_some()))
        };
        let under = |reading: &&LowReading| {
            let power = |place| reading.power(place).unwrap_or(0.0);
            power(LowPlace::UnderNote) > LEAST_UNDER * power(LowPlace::Note)
        };
        let bass = all(LowPlace::Note);
        let kick = all(LowPlace::KickBody);
        Self {
            kick,
            kick_lows: !kick && all(LowPlace::KickLows),
            bass,
            under_note: bass && readings.iter().flatten().any(under),
        }
    }

    fn places(self) -> impl Iterator<Item = LowPlace> {
        use LowPlace::{AboveOctave, KickBody, KickLows, KickPunch, Note, Octave, UnderNote};
        [
            KickLows,
            KickBody,
            KickPunch,
            UnderNote,
            Note,
            Octave,
            AboveOctave,
        ]
        .into_iter()
        .filter(move |place| match place {
            UnderNote => self.under_note,
            KickLows => self.kick_lows,
            place if place.is_kick() => self.kick,
            _ => self.bass,
        })
    }
}

impl Sheet {
    /// A sheet of a map and, for the rows that hang on notes, its low reading.
    pub fn of(map: &BarMap, low: Option<&LowReading>, low_rows: LowRows) -> Self {
        let mut rows: Vec<SheetRow> = low_rows
            .places()
            .map(|place| SheetRow {
                name: RowName::Place(place),
                cells: (0..map.slots)
                    .map(|slot| {
                        let cell = low?.place(place).get(slot)?;
                        (cell.bars > 0).then_some(cell.power)
                    })
                    .collect(),
                whole: low.and_then(|low| low.power(place)),
            })
            .collect();
        rows.extend(
            bands(&map.rows)
                .into_iter()
                .filter(|band| !(low_rows.bass && map.rows[band.start].is_low()))
                .map(|band| band_row(map, band)),
        );
        Self {
            slots: map.slots,
            rows,
        }
    }
}

/// Rows of the map that become one: the lowest semitones take along what is
/// below.
fn bands(rows: &[Row]) -> Vec<std::ops::Range<usize>> {
    let low = rows.iter().filter(|row| row.is_low()).count();
    let mut bands = Vec::new();
    let mut start = 0;
    while start < rows.len() {
        let count = match start {
            0 => SEMITONES + 1,
            start if start < low => SEMITONES,
            _ => THIRDS,
        };
        let limit = if start < low { low } else { rows.len() };
        let end = (start + count).min(limit);
        bands.push(start..end);
        start = end;
    }
    bands
}

fn band_row(map: &BarMap, band: std::ops::Range<usize>) -> SheetRow {
    let (first, last) = (map.rows[band.start], map.rows[band.end - 1]);
    let sum = |slot: usize| band.clone().map(|row| map.mean(row, slot)).sum();
    let cells: Vec<f64> = (0..map.slots).map(sum).collect();
    SheetRow {
        name: RowName::Band {
            low_hz: first.low_hz,
            high_hz: last.high_hz,
        },
        whole: Some(cells.iter().sum::<f64>() / map.slots.max(1) as f64),
        cells: cells.into_iter().map(Some).collect(),
    }
}
