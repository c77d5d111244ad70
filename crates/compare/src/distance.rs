//! The distance of a mix from its reference over the bars, in named parts.

use cupel_barmap::LowPlace;
use serde::{Deserialize, Serialize};

use crate::cells::Cells;

/// Cells and bands further than this under the reference's strongest count for
/// nothing (common practice, no source).
const HEARD_RANGE_DB: f64 = 45.0;
/// No cell counts for more than this.
const MOST_DB: f64 = 20.0;
/// Width is compared from here up: below, everything should be in the middle.
const WIDTH_FROM_HZ: f64 = 150.0;
/// The low end ends here where it cannot be read by note.
const LOW_END_HZ: f64 = 151.0;

/// The parts, each 0 for no difference; `None` where either side does not tell.
/// Never added up: there is no single number for a mix.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Distance {
    /// Root mean square difference over bands and sixteenths at equal loudness, dB.
    pub bar_map_db: Option<f64>,
    /// The same over bands alone.
    pub spectrum_db: Option<f64>,
    /// The same over the kick's places and the bass note's, or, where they are not
    /// known, over the bands below 151 Hz.
    pub low_end_db: Option<f64>,
    /// Root mean square difference over the bands of side against whole, dB.
    pub width_db: Option<f64>,
    /// How far apart both lean, dB between left and right.
    pub lean_db: Option<f64>,
}

/// A named part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PartName {
    /// For people.
    pub words: &'static str,
    /// As in JSON.
    pub key: &'static str,
}

impl Distance {
    /// Names of the parts, in the order of [`Self::values`].
    pub const NAMES: [PartName; 5] = [
        name("bar map", "bar_map_db"),
        name("spectrum", "spectrum_db"),
        name("low end", "low_end_db"),
        name("width by band", "width_db"),
        name("lean", "lean_db"),
    ];

    /// The parts in order.
    pub fn values(&self) -> [Option<f64>; 5] {
        [
            self.bar_map_db,
            self.spectrum_db,
            self.low_end_db,
            self.width_db,
            self.lean_db,
        ]
    }

    /// The distance between the cells of a mix and of a reference.
    pub fn of(mix: &Cells, reference: &Cells) -> Self {
        let gain = mix.loudness() / reference.loudness();
        if !gain.is_finite() || gain <= 0.0 {
            return Self::default();
        }
        let pair = Pair {
            mix,
            reference,
            gain,
        };
        Self {
            bar_map_db: pair.bar_map_db(),
            spectrum_db: root_mean_square(pair.bands_db(0.0, f64::INFINITY)),
            low_end_db: pair.low_end_db(),
            width_db: root_mean_square(pair.widths_db()),
            lean_db: mix
                .lean_db()
                .zip(reference.lean_db())
                .map(|(m, r)| (m - r).abs()),
        }
    }
}

const fn name(words: &'static str, key: &'static str) -> PartName {
    PartName { words, key }
}

impl Cells {
    /// Right over left by loudness, dB; positive leans to the right.
    pub fn lean_db(&self) -> Option<f64> {
        let [left, right] = [false, true].map(|right| self.powers[self.layout.channel(right)]);
        level_difference(right?, left?)
    }

    /// Mean over the bar of a band's power, or of its side.
    pub fn band(&self, band: usize, side: bool) -> f64 {
        let slots = self.layout.slots;
        let cell = |slot: usize| match side {
            true => self.layout.side(band, slot),
            false => self.layout.whole(band, slot),
        };
        let sum: f64 = (0..slots)
            .map(|slot| self.powers[cell(slot)].unwrap_or(0.0))
            .sum();
        sum / slots.max(1) as f64
    }
}

/// Both sides; the reference counts `gain` times, so that they are equally loud.
struct Pair<'a> {
    mix: &'a Cells,
    reference: &'a Cells,
    gain: f64,
}

impl Pair<'_> {
    fn bands(&self) -> usize {
        let sides = [self.mix, self.reference].map(|cells| cells.layout.bands.len());
        sides[0].min(sides[1])
    }

    /// Difference of two powers where the reference's is heard.
    fn difference(&self, mix: f64, reference: f64, strongest: f64) -> Option<f64> {
        let floor = strongest * 10f64.powf(-HEARD_RANGE_DB / 10.0);
        (reference > floor).then(|| {
            let difference_db = 10.0 * (mix.max(1e-16) / (self.gain * reference)).log10();
            difference_db.clamp(-MOST_DB, MOST_DB)
        })
    }

    fn bar_map_db(&self) -> Option<f64> {
        let slots = self.mix.layout.slots;
        let in_time = self.mix.layout.in_time && self.reference.layout.in_time;
        if slots != self.reference.layout.slots || !in_time {
            return None;
        }
        let cells: Vec<(f64, f64)> = (0..self.bands() * slots)
            .map(|index| {
                let (band, slot) = (index / slots, index % slots);
                let power = |cells: &Cells| cells.powers[cells.layout.whole(band, slot)];
                let powers = [self.mix, self.reference].map(|side| power(side).unwrap_or(0.0));
                (powers[0], powers[1])
            })
            .collect();
        let strongest = cells.iter().fold(0.0_f64, |most, cell| most.max(cell.1));
        let differences = cells
            .iter()
            .filter_map(|&(mix, reference)| self.difference(mix, reference, strongest));
        root_mean_square(differences.collect())
    }

    /// Differences of the bands between two frequencies.
    fn bands_db(&self, from_hz: f64, to_hz: f64) -> Vec<f64> {
        let strongest = (0..self.bands()).fold(0.0_f64, |most, band| {
            most.max(self.reference.band(band, false))
        });
        (0..self.bands())
            .filter(|&band| {
                let band = &self.mix.layout.bands[band];
                band.low_hz >= from_hz && band.high_hz <= to_hz
            })
            .filter_map(|band| {
                let [mix, reference] =
                    [self.mix, self.reference].map(|side| side.band(band, false));
                self.difference(mix, reference, strongest)
            })
            .collect()
    }

    fn low_end_db(&self) -> Option<f64> {
        use LowPlace::{AboveOctave, KickBody, KickPunch, Note, Octave};
        let places = [KickBody, KickPunch, Note, Octave, AboveOctave];
        let by_note: Vec<f64> = places
            .into_iter()
            .filter_map(|place| {
                let power = |cells: &Cells| cells.powers[cells.layout.low(place)];
                let (mix, reference) = power(self.mix).zip(power(self.reference))?;
                let difference_db = level_difference(mix, self.gain * reference)?;
                Some(difference_db.clamp(-MOST_DB, MOST_DB))
            })
            .collect();
        if by_note.is_empty() {
            return root_mean_square(self.bands_db(0.0, LOW_END_HZ));
        }
        root_mean_square(by_note)
    }

    fn widths_db(&self) -> Vec<f64> {
        let strongest = (0..self.bands()).fold(0.0_f64, |most, band| {
            most.max(self.reference.band(band, false))
        });
        let floor = strongest * 10f64.powf(-HEARD_RANGE_DB / 10.0);
        // A side this far under the whole is none.
        let width_db = |cells: &Cells, band: usize| {
            let whole = cells.band(band, false);
            10.0 * (cells.band(band, true) / whole.max(1e-16))
                .max(1e-3)
                .log10()
        };
        (0..self.bands())
            .filter(|&band| self.mix.layout.bands[band].low_hz >= WIDTH_FROM_HZ)
            .filter(|&band| self.reference.band(band, false) > floor)
            .map(|band| width_db(self.mix, band) - width_db(self.reference, band))
            .collect()
    }
}

fn level_difference(one: f64, other: f64) -> Option<f64> {
    (one > 0.0 && other > 0.0).then(|| 10.0 * (one / other).log10())
}

fn root_mean_square(values: Vec<f64>) -> Option<f64> {
    let count = values.len();
    let squares: f64 = values.iter().map(|value| value * value).sum();
    (count > 0).then(|| (squares / count as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cells::{Band, Layout};

    /// Three bands, two sixteenths; `powers` by band.
    fn cells(powers: [f64; 3], side: f64, right: f64) -> Cells {
        let edges = [(151.0, 500.0), (500.0, 1000.0), (1000.0, 2000.0)];
        let bands = edges
            .iter()
            .enumerate()
            .map(|(row, &(low_hz, high_hz))| Band {
                low_hz,
                high_hz,
                first_row: row,
                last_row: row,
            });
        let layout = Layout {
            bands: bands.collect(),
            slots: 2,
            in_time: true,
        };
        let mut all = vec![None; layout.cells()];
        for (band, power) in powers.into_iter().enumerate() {
            for slot in 0..2 {
                all[layout.whole(band, slot)] = Some(power);
                all[layout.side(band, slot)] = Some(side * power);
            }
        }
        all[layout.channel(false)] = Some(1.0);
        all[layout.channel(true)] = Some(right);
        Cells {
            layout,
            powers: all,
        }
    }

    #[test]
    fn a_common_gain_is_no_distance() {
        let reference = cells([1.0, 0.5, 0.2], 0.1, 1.0);
        let louder = cells([8.0, 4.0, 1.6], 0.1, 1.0);
        let distance = Distance::of(&louder, &reference);
        for value in [distance.bar_map_db, distance.spectrum_db, distance.width_db] {
            assert!(value.unwrap() < 1e-9, "{distance:?}");
        }
        assert_eq!(distance.low_end_db, None);
    }

    #[test]
    fn each_part_sees_its_own() {
        let reference = cells([1.0, 1.0, 1.0], 0.1, 1.0);
        let wide = Distance::of(&cells([1.0, 1.0, 1.0], 0.2, 1.0), &reference);
        assert!((wide.width_db.unwrap() - 10.0 * 2f64.log10()).abs() < 1e-9);
        assert!(wide.spectrum_db.unwrap() < 1e-9);
        let leaning = Distance::of(&cells([1.0, 1.0, 1.0], 0.1, 10.0), &reference);
        assert!((leaning.lean_db.unwrap() - 10.0).abs() < 1e-9);
        let bright = Distance::of(&cells([1.0, 1.0, 4.0], 0.1, 1.0), &reference);
        assert!(bright.spectrum_db.unwrap() > 2.0 && bright.bar_map_db.unwrap() > 2.0);
    }
}
