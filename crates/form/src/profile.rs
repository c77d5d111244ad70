//! A few figures a bar, and their means and slopes over runs of bars.

use crate::bar_frames::{Bars, SLOTS, quantile};
use cupel_measure::CRITICAL_BANDS;

/// Figures a bar has.
pub(crate) const FIGURES: usize = 7;
/// Loudness under the file's loud bars, 10 LU.
pub(crate) const LOUDNESS: usize = 0;
/// Level of the bands to 200 Hz under the file's full bars, 10 dB.
pub(crate) const LOW: usize = 1;
/// The same from 2.7 kHz; number 2 is from 200 Hz to 2.7 kHz.
pub(crate) const HIGH: usize = 3;
/// How much the bands to 200 Hz move within the bar, 10 dB: a kick.
pub(crate) const PULSE: usize = 4;
/// Layers that play, as a share of the most; 0 without layers. Number 5 is the
/// share of the bands that sound, under that of the file's full bars.
pub(crate) const LAYERS: usize = 6;

/// First band of the middle and of the high range.
const MID_BAND: usize = 2;
const HIGH_BAND: usize = 15;
/// A band sounds no further than this under its loud level, dB.
const SOUNDS_DB: f32 = 14.0;
/// Share of the bars that are thinner than the full ones.
const FULL: f64 = 0.9;

/// Sums of the figures up to every bar, and of the figures times the bar number.
pub(crate) struct Profile {
    sums: Vec<[f64; FIGURES]>,
    moments: Vec<[f64; FIGURES]>,
}

impl Profile {
    /// Of the first `count` bars.
    pub fn of(bars: &Bars, count: usize) -> Self {
        let mut rows: Vec<[f32; FIGURES]> = (0..count).map(|bar| figures(bars, bar)).collect();
        for figure in 0..FIGURES {
            let full = quantile(rows.iter().map(|row| row[figure]).collect(), FULL);
            for row in &mut rows {
                match figure {
                    LAYERS => row[figure] /= full.max(1.0),
                    PULSE => {}
                    _ => row[figure] = (row[figure] - full).max(-4.0),
                }
            }
        }
        let (mut sums, mut moments) = (vec![[0.0; FIGURES]], vec![[0.0; FIGURES]]);
        for (bar, row) in rows.iter().enumerate() {
            let (mut sum, mut moment) = (sums[bar], moments[bar]);
            for (figure, &value) in row.iter().enumerate() {
                sum[figure] += f64::from(value);
                moment[figure] += f64::from(value) * bar as f64;
            }
            sums.push(sum);
            moments.push(moment);
        }
        Self { sums, moments }
    }

    /// Mean of every figure over the bars `from..to`, at least one.
    pub fn means(&self, from: usize, to: usize) -> [f64; FIGURES] {
        let count = (to - from) as f64;
        std::array::from_fn(|figure| (self.sums[to][figure] - self.sums[from][figure]) / count)
    }

    /// By how much a figure rises over the bars `from..to`: the slope of its
    /// regression line times their number.
    pub fn rise(&self, figure: usize, from: usize, to: usize) -> f64 {
        let count = (to - from) as f64;
        if count < 2.0 {
            return 0.0;
        }
        let sum = self.sums[to][figure] - self.sums[from][figure];
        let moment = self.moments[to][figure] - self.moments[from][figure];
        let middle = (from + to - 1) as f64 / 2.0;
        // sum of squared distances of count equal steps from their middle
        let spread = count * (count * count - 1.0) / 12.0;
        (moment - middle * sum) / spread * count
    }
}

fn figures(bars: &Bars, bar: usize) -> [f32; FIGURES] {
    let slots: Vec<&[f32]> = bars.row(bar).chunks_exact(CRITICAL_BANDS).collect();
    let mean = |range: std::ops::Range<usize>| {
        let size = (range.len() * SLOTS) as f32;
        slots
            .iter()
            .map(|slot| slot[range.clone()].iter().sum::<f32>())
            .sum::<f32>()
            / size
    };
    let low = mean(0..MID_BAND);
    let scatter = slots
        .iter()
        .map(|slot| (slot[..MID_BAND].iter().sum::<f32>() / MID_BAND as f32 - low).powi(2))
        .sum::<f32>();
    let sounding = (0..CRITICAL_BANDS)
        .filter(|&band| {
            let loudest = slots.iter().map(|slot| slot[band]).fold(0.0, f32::max);
            loudest > crate::bar_frames::RANGE_DB - SOUNDS_DB
        })
        .count();
    let playing = (0..bars.layers.len())
        .filter(|&layer| bars.plays(layer, bar))
        .count();
    [
        bars.loudness[bar].max(-70.0) / 10.0,
        low / 10.0,
        mean(MID_BAND..HIGH_BAND) / 10.0,
        mean(HIGH_BAND..CRITICAL_BANDS) / 10.0,
        (scatter / SLOTS as f32).sqrt() / 10.0,
        sounding as f32 / CRITICAL_BANDS as f32,
        playing as f32,
    ]
}
