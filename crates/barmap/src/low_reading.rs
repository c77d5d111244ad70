//! The low end read around its own notes.
//!
//! A bass in another key lies elsewhere in fixed bands without being louder or
//! softer. Here every sixteenth is read around the note that plays in it, and
//! the kick around its own fundamental. Edges lie halfway between partials, as
//! far from each as the window of a sixteenth can tell.
//!
//! On drawn basses, transposed by 2 to 5 semitones, the note, its octave and its
//! overtones move by 0.1 dB (95 percent under 0.6 dB) while fixed bands of half an
//! octave move by up to 12 dB; with bass notes under it a kick's places move by up
//! to 1.1 dB (`tests/it/low_trial.rs`). A faster tempo makes a kick's share of its
//! sixteenth larger: 0.4 dB for 10 percent.

use serde::{Deserialize, Serialize};

use crate::bar_map::power_db;
use crate::low_bars::LowBars;
use crate::low_guide::LowGuide;
use crate::low_place::LowPlace;

/// One place in one sixteenth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LowCell {
    /// Mean power of the bars in which it was read; 0 where in none.
    pub power: f64,
    /// Bars in which it was read.
    pub bars: usize,
}

impl LowCell {
    /// Level in dB; `None` where nothing was read.
    pub fn level_db(&self) -> Option<f64> {
        power_db(self.power)
    }

    fn take(&mut self, power: f64) {
        let bars = self.bars as f64;
        self.power = (self.power * bars + power) / (bars + 1.0);
        self.bars += 1;
    }
}

/// The low places by sixteenth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowReading {
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Cells in the order of [`LowPlace::ALL`], each with its slots.
    pub cells: Vec<Vec<LowCell>>,
}

impl LowReading {
    /// Reads a passage around its own notes.
    ///
    /// The bass is read in the sixteenths that a note fills by half or more and
    /// no kick covers; the kick where it starts, with what else sounds under it.
    /// What lies more than 20 dB (under the note 10 dB) below the loudest place of
    /// the same sixteenth may be the window's smear and counts as that much below
    /// it.
    pub fn of(low: &LowBars, guide: &LowGuide) -> Self {
        let slots = low.lines().slots();
        let starts_s = low.lines().slot_starts_s();
        let mut cells = vec![vec![LowCell::default(); slots]; LowPlace::ALL.len()];
        for (sixteenth, pair) in starts_s.windows(2).enumerate() {
            let spots = guide.spots((pair[0], pair[1]));
            let mut powers: Vec<(LowPlace, f64)> = spots
                .iter()
                .map(|spot| {
                    let power = low.between(sixteenth, spot.low_hz, spot.high_hz);
                    (spot.place, power)
                })
                .collect();
            hold_above_smear(&mut powers);
            for (place, power) in powers {
                cells[place as usize][sixteenth % slots].take(power);
            }
        }
        Self { slots, cells }
    }

    /// The sixteenths of a place.
    pub fn place(&self, place: LowPlace) -> &[LowCell] {
        self.cells.get(place as usize).map_or(&[], Vec::as_slice)
    }

    /// Power of a place where it plays: the mean over all that was read; `None`
    /// where nothing was.
    pub fn power(&self, place: LowPlace) -> Option<f64> {
        let cells = self.place(place);
        let bars: usize = cells.iter().map(|cell| cell.bars).sum();
        let sum: f64 = cells.iter().map(|cell| cell.power * cell.bars as f64).sum();
        (bars > 0).then(|| sum / bars as f64)
    }

    /// The same in dB; `None` for silence too.
    pub fn level_db(&self, place: LowPlace) -> Option<f64> {
        self.power(place).and_then(power_db)
    }

    /// By place: this reading less another that is turned by `other_gain_db`;
    /// `None` where either has nothing.
    pub fn less(&self, other: &Self, other_gain_db: f64) -> Vec<(LowPlace, Option<f64>)> {
        LowPlace::ALL
            .into_iter()
            .map(|place| {
                let levels = self.level_db(place).zip(other.level_db(place));
                (
                    place,
                    levels.map(|(one, other)| one - other - other_gain_db),
                )
            })
            .collect()
    }
}

/// Holds what was read of one sixteenth, kick and bass each for itself, above
/// what the loudest place may throw there.
pub(crate) fn hold_above_smear(powers: &mut [(LowPlace, f64)]) {
    let loudest = [false, true].map(|of_kick| {
        let own = powers
            .iter()
            .filter(|(place, _)| place.is_kick() == of_kick);
        own.fold(0.0, |most: f64, &(_, power)| most.max(power))
    });
    for (place, power) in powers {
        *power = power.max(place.smear() * loudest[usize::from(place.is_kick())]);
    }
}
