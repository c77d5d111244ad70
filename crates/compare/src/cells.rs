//! The cells in which a mix and its reference are laid beside each other.

use cupel_barmap::{BarMap, LowPlace, LowReading, Row, Side};
use cupel_measure::KWeighting;

/// Semitones that become one band; the lowest takes along what is below.
const SEMITONES: usize = 6;

/// A band of the comparison: half an octave below 151 Hz, a third octave above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower edge, in hertz.
    pub low_hz: f64,
    /// Upper edge, in hertz.
    pub high_hz: f64,
    /// First row of the bar map in it.
    pub first_row: usize,
    /// Last row of the bar map in it.
    pub last_row: usize,
}

impl Band {
    /// Its middle, in hertz.
    pub fn centre_hz(&self) -> f64 {
        (self.low_hz.max(20.0) * self.high_hz).sqrt()
    }
}

/// How cells are laid out: bands by sixteenth, first the mean power of left and
/// right, then that of half their difference, then the low places over the bar,
/// then left and right as they weigh in the loudness.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// The bands, rising.
    pub bands: Vec<Band>,
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Whether they are real sixteenths, so that places in the bar compare; else
    /// the passage has no grid and was only cut into equal pieces.
    pub in_time: bool,
}

impl Layout {
    /// The layout for rows of a bar map.
    pub fn of(rows: &[Row], slots: usize) -> Self {
        let low = rows.iter().filter(|row| row.is_low()).count();
        let mut bands = Vec::new();
        let mut first = 0;
        while first < rows.len() {
            let count = match first {
                0 => SEMITONES + 1,
                first if first < low => SEMITONES,
                _ => 1,
            };
            let limit = if first < low { low } else { rows.len() };
            let last = (first + count).min(limit) - 1;
            bands.push(Band {
                low_hz: rows[first].low_hz,
                high_hz: rows[last].high_hz,
                first_row: first,
                last_row: last,
            });
            first = last + 1;
        }
        Self {
            bands,
            slots,
            in_time: true,
        }
    }

    /// Cell of a band and sixteenth.
    pub fn whole(&self, band: usize, slot: usize) -> usize {
        band * self.slots + slot
    }

    /// Cell of the side signal of a band and sixteenth.
    pub fn side(&self, band: usize, slot: usize) -> usize {
        (self.bands.len() + band) * self.slots + slot
    }

    /// Cell of a low place.
    pub fn low(&self, place: LowPlace) -> usize {
        2 * self.bands.len() * self.slots + place as usize
    }

    /// Cell of all of the left (`false`) or right (`true`) by loudness.
    pub fn channel(&self, right: bool) -> usize {
        2 * self.bands.len() * self.slots + LowPlace::ALL.len() + usize::from(right)
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        2 * self.bands.len() * self.slots + LowPlace::ALL.len() + 2
    }

    /// Gain of the K-weighting of BS.1770-5 at the middle of every band, as a
    /// power, over the sixteenths.
    pub fn band_weights(&self) -> Vec<f64> {
        let weighting = KWeighting::new(48_000.0);
        let weight = |band: &Band| {
            let gain_db = weighting.gain_db(band.centre_hz().min(20_000.0));
            10f64.powf(gain_db / 10.0) / self.slots.max(1) as f64
        };
        self.bands.iter().map(weight).collect()
    }

    /// The same for every row of the bar map.
    pub fn row_weights(&self) -> Vec<f64> {
        let weights = self.bands.iter().zip(self.band_weights());
        weights
            .flat_map(|(band, weight)| vec![weight; band.last_row + 1 - band.first_row])
            .collect()
    }

    /// Weight of every cell in the loudness: the K-weighting of BS.1770-5 at the
    /// middle of its band; nothing for what is counted already.
    pub fn loudness_weights(&self) -> Vec<f64> {
        let mut weights = vec![0.0; self.cells()];
        for (band, weight) in self.band_weights().into_iter().enumerate() {
            for slot in 0..self.slots {
                weights[self.whole(band, slot)] = weight;
            }
        }
        weights
    }
}

/// Powers of one sound in the cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Cells {
    /// Their layout; slots may differ from those of the mix (3/4 beside 4/4).
    pub layout: Layout,
    /// By cell; `None` where a low place was not read.
    pub powers: Vec<Option<f64>>,
}

impl Cells {
    /// The cells of a bar map and its low reading.
    pub fn of(map: &BarMap, low: Option<&LowReading>) -> Self {
        let layout = Layout::of(&map.rows, map.slots);
        let mut powers = vec![None; layout.cells()];
        let weights = layout.band_weights();
        let mut channels = [0.0; 2];
        for (index, band) in layout.bands.iter().enumerate() {
            for slot in 0..layout.slots {
                let rows = || band.first_row..=band.last_row;
                let whole: f64 = rows().map(|row| map.mean(row, slot)).sum();
                let middle: f64 = rows().map(|row| map.power(Side::Mid, row, slot)).sum();
                powers[layout.whole(index, slot)] = Some(whole);
                powers[layout.side(index, slot)] = Some((whole - middle).max(0.0));
                for (sum, side) in channels.iter_mut().zip([Side::Left, Side::Right]) {
                    let power: f64 = rows().map(|row| map.power(side, row, slot)).sum();
                    *sum += weights[index] * power;
                }
            }
        }
        for place in LowPlace::ALL {
            powers[layout.low(place)] = low.and_then(|low| low.power(place));
        }
        powers[layout.channel(false)] = Some(channels[0]);
        powers[layout.channel(true)] = Some(channels[1]);
        Self { layout, powers }
    }

    /// Power by the weights of the loudness.
    pub fn loudness(&self) -> f64 {
        let weights = self.layout.loudness_weights();
        let powers = self.powers.iter().zip(weights);
        powers
            .map(|(power, weight)| power.unwrap_or(0.0) * weight)
            .sum()
    }
}
