//! Which sections are busiest, and the busiest passage.

use crate::bar_frames::Bars;
use crate::semi_markov::Run;
use cupel_measure::{CRITICAL_BANDS, LoudnessCurve};

/// How far a busiest section may lie below the best, LU and layers.
const LOUDNESS_SLACK: f32 = 1.5;
const LAYER_SLACK: f32 = 1.5;
/// How far it may lie below the best in mean band level, dB.
const LEVEL_SLACK: f32 = 2.5;
/// Lengths of the passage in bars, the best first.
const LONG: usize = 16;
const SHORT: usize = 8;
/// Length of the passage where there are no bars, seconds.
const WITHOUT_BARS_S: f64 = 25.0;

/// Marks the busiest sections: as many layers and as loud as the best.
pub(crate) fn busiest(bars: &Bars, cut: &[Run]) -> Vec<bool> {
    let of = |value: &dyn Fn(usize) -> f32| -> Vec<f32> {
        cut.iter()
            .map(|run| (run.from..run.to).map(value).sum::<f32>() / (run.to - run.from) as f32)
            .collect()
    };
    let loudness = of(&|bar| bars.loudness[bar]);
    let fullness = of(&|bar| fullness(bars, bar));
    let slack = if bars.layers.is_empty() {
        LEVEL_SLACK
    } else {
        LAYER_SLACK
    };
    let score: Vec<f32> = loudness
        .iter()
        .zip(&fullness)
        .map(|(lufs, full)| lufs / LOUDNESS_SLACK + full / slack)
        .collect();
    let best = score
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map_or(0, |(index, _)| index);
    (0..score.len())
        .map(|index| {
            loudness[index] >= loudness[best] - LOUDNESS_SLACK
                && fullness[index] >= fullness[best] - slack
        })
        .collect()
}

/// Layers that play in a bar; without layers its mean band level.
fn fullness(bars: &Bars, bar: usize) -> f32 {
    if bars.layers.is_empty() {
        bars.mean_level(bar..bar + 1, 0..CRITICAL_BANDS)
    } else {
        (0..bars.layers.len())
            .filter(|&layer| bars.plays(layer, bar))
            .count() as f32
    }
}

/// Bars of the busiest passage, 16, else 8 to 15, within one busiest section.
pub(crate) fn passage(
    bars: &Bars,
    cut: &[Run],
    busiest: &[bool],
) -> Option<std::ops::Range<usize>> {
    let slack = if bars.layers.is_empty() {
        LEVEL_SLACK
    } else {
        LAYER_SLACK
    };
    let score = |from: usize, to: usize| {
        (from..to)
            .map(|bar| bars.loudness[bar] / LOUDNESS_SLACK + fullness(bars, bar) / slack)
            .sum::<f32>()
            / (to - from) as f32
    };
    let mut found: Option<(f32, std::ops::Range<usize>)> = None;
    for (run, _) in cut.iter().zip(busiest).filter(|(_, busy)| **busy) {
        let length = match run.to - run.from {
            LONG.. => LONG,
            whole @ SHORT.. => whole,
            _ => SHORT.min(bars.count()),
        };
        let last = (bars.count() - length).min(run.from.max(run.to.saturating_sub(length)));
        for from in run.from.min(last)..=last {
            let value = score(from, from + length);
            if found.as_ref().is_none_or(|(best, _)| value > *best + 0.01) {
                found = Some((value, from..from + length));
            }
        }
    }
    found.map(|(_, range)| range)
}

/// The loudest stretch of 25 s, or all of a shorter file; for files without bars.
pub(crate) fn loudest_stretch(curve: &LoudnessCurve, seconds: f64) -> Option<(f64, f64)> {
    if seconds.is_nan() || seconds <= 0.0 || curve.k_power.iter().all(|&power| power <= 0.0) {
        return None;
    }
    if seconds <= WITHOUT_BARS_S {
        return Some((0.0, seconds));
    }
    let steps = (WITHOUT_BARS_S / curve.hop_s) as usize;
    let mut sums = vec![0.0];
    for &power in &curve.k_power {
        sums.push(sums[sums.len() - 1] + f64::from(power));
    }
    let start = (0..=sums.len().saturating_sub(steps + 1))
        .map(|from| (from, sums[(from + steps).min(sums.len() - 1)] - sums[from]))
        .fold(
            (0, f64::MIN),
            |best, now| if now.1 > best.1 { now } else { best },
        )
        .0;
    let start_s = (start as f64 * curve.hop_s).min(seconds - WITHOUT_BARS_S);
    Some((start_s, start_s + WITHOUT_BARS_S))
}
