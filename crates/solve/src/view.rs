//! What mix and reference are compared by, and what is believed beforehand.

/// One reading: the power of a group of cells, as a weighted power mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Cells and their weights.
    pub cells: Vec<(usize, f64)>,
    /// 1 for the mean, more for the peaks, below 0 for what is always there.
    pub exponent: f64,
    /// The same reading of the reference, as a power.
    pub reference: f64,
    /// What cannot be heard, as a part of the loudness of either side: added to both.
    pub floor: f64,
    /// How much it counts within its view.
    pub weight: f64,
    /// Readings of one group may all be off by the same.
    pub group: Option<usize>,
}

/// Powers below this are silence; keeps negative exponents finite.
const SILENCE: f64 = 1e-16;

impl Reading {
    /// The power mean of the cells, scaled by the largest so that nothing overflows.
    pub fn power(&self, powers: &[f64]) -> f64 {
        power_mean(&self.cells, self.exponent, |cell| powers[cell])
    }
}

/// `(sum of w P^p)^(1/p)`, with silence held at a tiny power.
pub(crate) fn power_mean(
    cells: &[(usize, f64)],
    exponent: f64,
    power: impl Fn(usize) -> f64,
) -> f64 {
    let most = cells
        .iter()
        .fold(SILENCE, |most: f64, &(cell, _)| most.max(power(cell)));
    let raised =
        |&(cell, weight): &(usize, f64)| weight * (power(cell).max(SILENCE) / most).powf(exponent);
    most * cells.iter().map(raised).sum::<f64>().powf(1.0 / exponent)
}

/// Readings of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// The readings.
    pub readings: Vec<Reading>,
    /// How many independent readings they are worth together.
    pub worth: f64,
    /// Spread below which no difference is believed, dB, above 0.
    pub least_spread_db: f64,
    /// Spread of what a group may be off by, dB: a limiter turns all of a sixteenth
    /// down at once.
    pub group_spread_db: f64,
}

impl View {
    /// Number of groups.
    pub(crate) fn groups(&self) -> usize {
        let groups = self.readings.iter().filter_map(|reading| reading.group);
        groups.max().map_or(0, |last| last + 1)
    }
}

/// What is believed of the gains beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// Tracks and their factors.
    pub factors: Vec<(usize, f64)>,
    /// Expected value, dB.
    pub mean_db: f64,
    /// Its standard deviation, dB.
    pub spread_db: f64,
}

impl Belief {
    pub(crate) fn value(&self, gain_db: &[f64]) -> f64 {
        let terms = self.factors.iter();
        terms.map(|&(track, factor)| factor * gain_db[track]).sum()
    }

    pub(crate) fn cost(&self, gain_db: &[f64]) -> f64 {
        let off = (self.value(gain_db) - self.mean_db) / self.spread_db;
        0.5 * off * off
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Power means of 1, 4, 16: arithmetic 7, harmonic 3 / 1.3125 (by hand).
    #[test]
    fn power_means() {
        let cells: Vec<(usize, f64)> = (0..3).map(|cell| (cell, 1.0 / 3.0)).collect();
        let powers = [1.0, 4.0, 16.0];
        let mean = |exponent| power_mean(&cells, exponent, |cell| powers[cell]);
        assert!((mean(1.0) - 7.0).abs() < 1e-12);
        assert!((mean(-1.0) - 3.0 / 1.3125).abs() < 1e-12);
        assert!(mean(8.0) > 13.0 && mean(8.0) < 16.0);
    }

    #[test]
    fn silence_is_no_infinity() {
        let cells = [(0, 0.5), (1, 0.5)];
        assert!(power_mean(&cells, -0.7, |_| 0.0).is_finite());
    }
}
