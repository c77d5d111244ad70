//! What a bar line looks like that a section starts at.

use crate::bar_frames::{Bars, SLOTS, quantile};
use cupel_measure::CRITICAL_BANDS;

/// Features of a bar line.
pub(crate) const EDGE_FEATURES: usize = 14;
/// Bars looked at to each side.
const SPAN: usize = 4;
/// A band has changed by this much, dB.
const CHANGED_DB: f32 = 6.0;
const ALL: std::ops::Range<usize> = 0..CRITICAL_BANDS;
const LOW: std::ops::Range<usize> = 0..2;
const HIGH: std::ops::Range<usize> = 15..CRITICAL_BANDS;

/// Features of every bar line, the first bar's included (zeros):
///
/// 0. mean change of the bands, 10 dB;
/// 1. change of the bands to 200 Hz, 10 dB;
/// 2. share of the bands that change by 6 dB and more;
/// 3. change of loudness, 5 LU, at most 2;
/// 4. a crash: high bands in the bar's first half above the bars around, 10 dB;
/// 5. how much the half bar before is unlike the halves before it, 10 dB, over
///    what is usual in the file;
/// 6. mean change of the bands over its median in the file, at most 4;
/// 7. share of the layers that come or go;
/// 8. how new the bar is: unlike the two before, more than the next is unlike it,
///    10 dB;
/// 9. the same of the bands to 200 Hz;
/// 10. mean change of the bands from one bar to the next, 10 dB;
/// 11. by how much that is more than at the bar lines before and after;
/// 12. change of the bands between pairs of bars, 10 dB;
/// 13. how new the bar's layers are, as a share.
pub(crate) fn edges(bars: &Bars) -> Vec<[f64; EDGE_FEATURES]> {
    let count = bars.count();
    let sums = BandSums::of(bars);
    let mut rows = vec![[0.0; EDGE_FEATURES]; count];
    let oddness: Vec<f32> = (0..count).map(|bar| oddness(bars, bar)).collect();
    let usual = quantile(oddness.clone(), 0.5);
    let mut steps: Vec<f32> = (0..count)
        .map(|bar| {
            if bar == 0 {
                0.0
            } else {
                sums.apart(bar - 1, bar, ALL)
            }
        })
        .collect();
    steps.push(0.0);
    // how unlike a bar is to the two before, less how unlike the next is to it
    let newness = |bar: usize, apart: &dyn Fn(usize, usize) -> f32| {
        let before = apart(bar - 1, bar).min(apart(bar.saturating_sub(2), bar));
        before
            - if bar + 1 < count {
                apart(bar, bar + 1)
            } else {
                0.0
            }
    };
    for bar in 1..count {
        let (from, to) = (bar.saturating_sub(SPAN), (bar + SPAN).min(count));
        let change = sums.change(from, bar, to);
        let mean = mean(&change);
        let low = mean_of(&change, LOW);
        let changed = change.iter().filter(|db| **db >= CHANGED_DB).count();
        let lufs = |a: usize, b: usize| mean_loudness(&bars.loudness[a..b]);
        rows[bar] = [
            mean / 10.0,
            low / 10.0,
            changed as f32 / CRITICAL_BANDS as f32,
            ((lufs(bar, to) - lufs(from, bar)).abs() / 5.0).min(2.0),
            (crash(bars, from, bar, to) / 10.0).clamp(0.0, 1.5),
            ((oddness[bar - 1] - usual) / 10.0).clamp(0.0, 1.5),
            0.0,
            layers_changed(bars, from, bar, to),
            (newness(bar, &|a, b| sums.apart(a, b, ALL)) / 10.0).clamp(-1.5, 1.5),
            (newness(bar, &|a, b| sums.apart(a, b, LOW)) / 10.0).clamp(-2.0, 2.0),
            (steps[bar] / 10.0).min(1.5),
            ((steps[bar] - steps[bar - 1].max(steps[bar + 1])) / 10.0).clamp(-1.0, 1.0),
            mean_of(
                &sums.change(bar.saturating_sub(2), bar, (bar + 2).min(count)),
                ALL,
            ) / 10.0,
            newness(bar, &|a, b| layers_apart(bars, a, b)),
        ]
        .map(f64::from);
    }
    let typical = quantile(rows.iter().map(|row| row[0] as f32).collect(), 0.5);
    for row in &mut rows {
        row[6] = (row[0] / f64::from(typical.max(0.02))).min(4.0);
    }
    rows
}

/// Levels of the bands, bar by bar, summed up to each bar.
struct BandSums {
    sums: Vec<[f32; CRITICAL_BANDS]>,
}

impl BandSums {
    fn of(bars: &Bars) -> Self {
        let mut sums = vec![[0.0; CRITICAL_BANDS]];
        for bar in 0..bars.count() {
            let mut sum = sums[bar];
            for slot in bars.row(bar).chunks_exact(CRITICAL_BANDS) {
                for (sum, level) in sum.iter_mut().zip(slot) {
                    *sum += level / SLOTS as f32;
                }
            }
            sums.push(sum);
        }
        Self { sums }
    }

    /// Mean difference of two bars in some bands, dB.
    fn apart(&self, a: usize, b: usize, bands: std::ops::Range<usize>) -> f32 {
        let level = |bar: usize, band: usize| self.sums[bar + 1][band] - self.sums[bar][band];
        let count = bands.len() as f32;
        bands
            .map(|band| (level(a, band) - level(b, band)).abs())
            .sum::<f32>()
            / count
    }

    fn change(&self, from: usize, at: usize, to: usize) -> [f32; CRITICAL_BANDS] {
        let mut change = [0.0; CRITICAL_BANDS];
        for (band, change) in change.iter_mut().enumerate() {
            let mean =
                |a: usize, b: usize| (self.sums[b][band] - self.sums[a][band]) / (b - a) as f32;
            *change = (mean(at, to) - mean(from, at)).abs();
        }
        change
    }
}

fn mean(values: &[f32]) -> f32 {
    values.iter().sum::<f32>() / values.len().max(1) as f32
}

fn mean_of(values: &[f32], range: std::ops::Range<usize>) -> f32 {
    mean(&values[range])
}

fn mean_loudness(lufs: &[f32]) -> f32 {
    let sum: f32 = lufs.iter().map(|lufs| lufs.max(-60.0)).sum();
    sum / lufs.len().max(1) as f32
}

/// How far the high bands of a bar's first half stand above the same half of the
/// bars before and after.
fn crash(bars: &Bars, from: usize, bar: usize, to: usize) -> f32 {
    let half = |bar: usize| {
        let slots = bars.row(bar).chunks_exact(CRITICAL_BANDS).take(SLOTS / 2);
        slots.map(|slot| mean_of(slot, HIGH)).sum::<f32>() / (SLOTS / 2) as f32
    };
    let loudest = |range: std::ops::Range<usize>| {
        let values: Vec<f32> = range.map(half).collect();
        mean(&values)
    };
    if bar + 1 >= to {
        return 0.0;
    }
    half(bar) - loudest(from..bar).max(loudest(bar + 1..to))
}

/// How unlike the second half of a bar is to the most alike of the three before.
fn oddness(bars: &Bars, bar: usize) -> f32 {
    let half = SLOTS / 2 * CRITICAL_BANDS;
    let unlike = |other: usize| {
        let pairs = bars.row(bar)[half..].iter().zip(&bars.row(other)[half..]);
        pairs.map(|(a, b)| (a - b).abs()).sum::<f32>() / half as f32
    };
    let least = (bar.saturating_sub(3)..bar)
        .map(unlike)
        .fold(f32::MAX, f32::min);
    if least == f32::MAX { 0.0 } else { least }
}

fn layers_changed(bars: &Bars, from: usize, bar: usize, to: usize) -> f32 {
    let layers = bars.layers.len();
    let changed = (0..layers)
        .filter(|&layer| {
            let share = |a: usize, b: usize| {
                (a..b).filter(|&bar| bars.plays(layer, bar)).count() as f32 / (b - a) as f32
            };
            (share(from, bar) - share(bar, to)).abs() > 0.6
        })
        .count();
    changed as f32 / layers.max(1) as f32
}

/// Share of the layers that play in just one of two bars.
fn layers_apart(bars: &Bars, a: usize, b: usize) -> f32 {
    let layers = bars.layers.len();
    let apart = (0..layers).filter(|&layer| bars.plays(layer, a) != bars.plays(layer, b));
    apart.count() as f32 / layers.max(1) as f32
}
