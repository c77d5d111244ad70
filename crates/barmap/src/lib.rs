//! Energy by sixteenth of the bar and by band: the bar map.
//!
//! [`BarMapMeter`] hears one file and gives a [`BarMap`]: for every row
//! (semitones below 151 Hz, third octaves above) and every sixteenth the power
//! of left, right and mid, averaged over the bars, with its spread.
//! [`CrossMeter`] hears several tracks together and gives a [`CrossMap`], whose
//! cross-terms tell the map of their sum at any gains. [`compare`] sets a map
//! beside another, [`owners`] says whose tracks fill the cells, and
//! [`LowReading`] reads the low end around its own notes. [`Comparison`] is what
//! people read of it: both sides in few rows, the low end by notes.
//!
//! **Time.** The window of a sixteenth is the sixteenth itself. Neighbours fade
//! into each other shortly before each starts ([`HIGH_FADE_S`], [`LOW_FADE_S`],
//! [`LEAD_S`]), so that a hit up to 8 ms early counts where it belongs, and the
//! squares of all windows add up to 1: no energy is lost or counted twice.
//!
//! **Frequency.** A sixteenth of 125 ms tells tones some 7 Hz apart (full width
//! at half power about 0.9 / length). Below 100 Hz that is wider than a
//! semitone: a steady tone spreads over two semitones at 55 Hz and three at
//! 35 Hz. The sum over rows is true to a few hundredths of a dB all the same.
//!
//! ```
//! use cupel_barmap::{BarMapMeter, Comparison};
//! use cupel_rhythm::BarLines;
//!
//! let lines = BarLines { bar_starts_s: vec![0.1, 2.1, 4.1], beats_per_bar: 4, swing: 0.5 };
//! let tone: Vec<f64> = (0..200_000).map(|n| 0.5 * (0.13 * f64::from(n)).sin()).collect();
//! let mut meter = BarMapMeter::new(48_000.0, 1, &lines, 0.0);
//! meter.push(&[&tone]);
//! let (map, _low) = meter.finish_with_low();
//! assert_eq!((map.slots, map.bars), (16, 2));
//! let same = Comparison::of((&map, None), (&map, None), 0.0);
//! assert!(same.rows.iter().all(|row| row.whole_db.unwrap_or(0.0) == 0.0));
//! ```

mod bar_map;
mod bar_map_json;
mod bar_map_meter;
mod comparison;
mod cross_low;
mod cross_map;
mod cross_meter;
mod decimator;
mod difference;
mod low_bars;
mod low_guide;
mod low_place;
mod low_reading;
mod low_waves;
mod owners;
mod rows;
mod sheet;
mod slot_feed;
mod slot_spectra;
mod transform;

pub use bar_map::{BarMap, Side};
pub use bar_map_meter::BarMapMeter;
pub use comparison::{ComparedRow, Comparison, Read};
pub use cross_low::CrossLow;
pub use cross_map::CrossMap;
pub use cross_meter::CrossMeter;
pub use difference::{Difference, compare};
pub use low_bars::LowBars;
pub use low_guide::{LowGuide, LowNote};
pub use low_place::LowPlace;
pub use low_reading::{LowCell, LowReading};
pub use low_waves::{LowWaveMeter, LowWaves, MOST_SHIFT_S, WavePair};
pub use owners::{Owner, Owners, owners, sheet_owners};
pub use rows::Row;
pub use sheet::{LowRows, RowName, Sheet, SheetRow};
pub use slot_feed::{HIGH_FADE_S, LEAD_S, LOW_FADE_S};
