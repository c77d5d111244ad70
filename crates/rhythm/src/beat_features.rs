//! What speaks for a grid of beats: where in the beat hits fall, and how beats
//! alternate.

use crate::entries::{Entries, share};
use crate::grid_fit::Beats;
use crate::onset_bands::BANDS;
use crate::onset_curve::Onsets;
use crate::onset_hits::Hit;
use crate::pulse::Pulse;
use crate::steadiness::Sounds;

/// Number of features for a first choice.
pub(crate) const QUICK_FEATURES: usize = 20;
/// Number of features of a grid.
pub(crate) const FEATURES: usize = QUICK_FEATURES + 37;

/// Logarithm of band power just after each beat, by band; `low_hits` says
/// whether a low hit lies on the beat.
#[derive(Clone, Debug)]
pub(crate) struct BeatLevels {
    pub(crate) levels: [Vec<f64>; BANDS],
    pub(crate) rises: [Vec<f64>; BANDS],
    /// Upper quartile of the levels as they are.
    pub(crate) loud: [f64; BANDS],
}

impl BeatLevels {
    /// Levels at the beats at `times`.
    pub(crate) fn of(curve: &Onsets, times: &[f64]) -> Self {
        let gap_s = |index: usize| match times.get(index..index + 2) {
            Some(pair) => pair[1] - pair[0],
            None => 0.5,
        };
        let length_s = (0.25 * gap_s(0)).min(0.08);
        let mut loud = [0.0; BANDS];
        let levels = std::array::from_fn(|band| {
            let powers = &curve.powers[band];
            let mean = curve.means[band];
            let logs: Vec<f64> = times
                .iter()
                .map(|&time_s| {
                    (mean_between(powers, time_s, time_s + length_s, curve.hop_s)
                        + 0.01 * mean
                        + 1e-12)
                        .ln()
                })
                .collect();
            loud[band] = quantile(&logs, 0.75);
            detrend(&logs)
        });
        let mut rises: [Vec<f64>; BANDS] = std::array::from_fn(|_| vec![0.0; times.len()]);
        let mut beat = 0;
        for hit in &curve.hits {
            while beat + 1 < times.len() && times[beat + 1] - hit.time_s < hit.time_s - times[beat]
            {
                beat += 1;
            }
            let near = times.get(beat).is_some_and(|time_s| {
                (hit.time_s - time_s).abs() < tolerance(gap_s(beat)) * gap_s(beat)
            });
            if near {
                let rise = &mut rises[hit.band][beat];
                *rise = rise.max(f64::from(hit.strength));
            }
        }
        Self {
            levels,
            rises,
            loud,
        }
    }
}

/// Half width of "on the beat", in beats.
fn tolerance(period_s: f64) -> f64 {
    (0.02 / period_s).min(0.06)
}

/// Beats inside the file.
pub(crate) fn beat_times(curve: &Onsets, beats: Beats) -> Vec<f64> {
    let beats = beats.wrapped();
    let mut offset_s = beats.offset_s;
    // a beat a few ms before the file belongs to it
    if beats.period_s - offset_s < 0.02 {
        offset_s -= beats.period_s;
    }
    let count = ((curve.seconds - offset_s) / beats.period_s).max(0.0) as usize;
    (0..count)
        .map(|k| offset_s + k as f64 * beats.period_s)
        .collect()
}

fn mean_between(powers: &[f32], from_s: f64, to_s: f64, hop_s: f64) -> f64 {
    let from = (from_s / hop_s).round().max(0.0) as usize;
    let to = ((to_s / hop_s).round().max(0.0) as usize)
        .max(from + 1)
        .min(powers.len());
    let from = from.min(to);
    let sum: f64 = powers[from..to].iter().map(|&p| f64::from(p)).sum();
    sum / (to - from).max(1) as f64
}

/// Takes away the mean of the 24 values around each.
fn detrend(values: &[f64]) -> Vec<f64> {
    let mut sums = vec![0.0];
    for value in values {
        sums.push(sums[sums.len() - 1] + value);
    }
    (0..values.len())
        .map(|index| {
            let (from, to) = (index.saturating_sub(12), (index + 12).min(values.len()));
            values[index] - (sums[to] - sums[from]) / (to - from) as f64
        })
        .collect()
}

/// Share of the variance that a pattern of `period` values explains, less what
/// chance explains; 0 to 1.
pub(crate) fn explained(values: &[f64], period: usize) -> f64 {
    if values.len() < 4 * period {
        return 0.0;
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let total: f64 = values.iter().map(|x| (x - mean).powi(2)).sum();
    let (mut between, spread) = (0.0, period as f64 - 1.0);
    for phase in 0..period {
        let (mut sum, mut count) = (0.0, 0.0);
        for value in values.iter().skip(phase).step_by(period) {
            sum += value - mean;
            count += 1.0;
        }
        between += sum * sum / count;
    }
    let share = between / (total + 1e-9);
    let chance = spread / (values.len() as f64 - 1.0);
    ((share - chance) / (1.0 - chance)).max(0.0)
}

/// What all grids of one file are held against.
#[derive(Clone, Debug)]
pub(crate) struct Scene<'a> {
    pub(crate) curve: &'a Onsets<'a>,
    pub(crate) pulse: &'a Pulse,
    pub(crate) sounds: &'a Sounds,
    pub(crate) entries: Entries,
    /// Low hits: time, strength, whether an upper band starts with them.
    low: Vec<(f64, f64, bool)>,
}

impl<'a> Scene<'a> {
    pub(crate) fn of(curve: &'a Onsets<'a>, pulse: &'a Pulse, sounds: &'a Sounds) -> Self {
        Self {
            curve,
            pulse,
            sounds,
            entries: Entries::of(curve),
            low: low_hits(&curve.hits),
        }
    }
}

/// A kick has a click, a bass mostly none.
fn low_hits(hits: &[Hit]) -> Vec<(f64, f64, bool)> {
    const TOGETHER_S: f64 = 0.012;
    let mut found = Vec::new();
    for (index, low) in hits.iter().enumerate().filter(|(_, hit)| hit.band == 0) {
        let near = |hit: &&Hit| (hit.time_s - low.time_s).abs() < TOGETHER_S;
        let after = hits[index + 1..].iter().take_while(near);
        let before = hits[..index].iter().rev().take_while(near);
        let click = after.chain(before).any(|hit| hit.band >= 2);
        found.push((low.time_s, f64::from(low.strength), click));
    }
    found
}

/// Features of a grid that cost little, for a first choice.
pub(crate) fn quick_features(scene: &Scene, beats: Beats) -> [f64; QUICK_FEATURES] {
    let octave = (60.0 / beats.period_s / 120.0).log2();
    let mut out = [0.0; QUICK_FEATURES];
    (out[0], out[1]) = (octave, octave * octave);
    let tolerance = tolerance(beats.period_s);
    let mut sums = [[0.0f64; 3]; BANDS];
    for hit in &scene.curve.hits {
        let phase = beats.phase(hit.time_s).abs();
        let strength = f64::from(hit.strength);
        let sum = &mut sums[hit.band];
        sum[2] += strength;
        if phase < tolerance {
            sum[0] += strength;
        } else if phase > 0.5 - tolerance {
            sum[1] += strength;
        }
    }
    for (band, [on, half, all]) in sums.into_iter().enumerate() {
        out[2 + 2 * band] = on / (all + 1e-9);
        out[3 + 2 * band] = half / (all + 1e-9);
    }
    for (index, times) in [0.25, 0.5, 1.0, 2.0, 3.0, 4.0].into_iter().enumerate() {
        out[10 + index] = scene.pulse.at_lag(times * beats.period_s);
    }
    let Entries { low_s, upper_s } = &scene.entries;
    for (index, times_s) in [low_s, upper_s].into_iter().enumerate() {
        let on = |time_s: f64| beats.phase(time_s).abs() < tolerance;
        let half = |time_s: f64| beats.phase(time_s).abs() > 0.5 - tolerance;
        out[16 + 2 * index] = share(times_s, on);
        out[17 + 2 * index] = share(times_s, half);
    }
    out
}

/// Features of a grid, comparable between grids of one file; `times` are its
/// beats, `levels` what happens at them.
pub(crate) fn features(
    scene: &Scene,
    beats: Beats,
    times: &[f64],
    levels: &BeatLevels,
) -> [f64; FEATURES] {
    let curve = scene.curve;
    let mut out = Vec::with_capacity(FEATURES);
    out.extend(quick_features(scene, beats));
    for band in [0, 2, 3] {
        let two = explained(&levels.levels[band], 2);
        out.extend([
            two,
            (explained(&levels.levels[band], 4) - two).max(0.0),
            explained(&levels.levels[band], 3),
        ]);
    }
    let between: Vec<f64> = times.iter().map(|t| t + 0.5 * beats.period_s).collect();
    let halves = BeatLevels::of(curve, &between);
    for band in [0, 2] {
        let filled = |rises: &[f64]| {
            rises.iter().filter(|&&rise| rise > 1.0).count() as f64 / rises.len().max(1) as f64
        };
        out.extend([filled(&levels.rises[band]), filled(&halves.rises[band])]);
    }
    for band in [0, 2] {
        let mean = |rises: &[f64]| rises.iter().sum::<f64>() / rises.len().max(1) as f64;
        out.extend([mean(&levels.rises[band]), mean(&halves.rises[band])]);
    }
    out.extend(backbeat(levels));
    out.extend(kick_place(levels, &halves));
    out.extend(chords(curve, times, &between, beats.period_s));
    out.extend(kicks_and_basses(scene, beats));
    out.resize(FEATURES, 0.0);
    std::array::from_fn(|index| out[index])
}

/// Shares of the low hits with a click on beats and half beats, and of those
/// without.
fn kicks_and_basses(scene: &Scene, beats: Beats) -> [f64; 4] {
    let tolerance = tolerance(beats.period_s);
    let mut sums = [0.0; 4];
    let mut all = [1.0; 2];
    for &(time_s, strength, click) in &scene.low {
        let phase = beats.phase(time_s).abs();
        let kind = usize::from(!click);
        all[kind] += strength;
        if phase < tolerance {
            sums[2 * kind] += strength;
        } else if phase > 0.5 - tolerance {
            sums[2 * kind + 1] += strength;
        }
    }
    std::array::from_fn(|index| sums[index] / all[index / 2])
}

/// Whether chords change on beats rather than between them.
fn chords(curve: &Onsets, on_s: &[f64], half_s: &[f64], period_s: f64) -> [f64; 2] {
    let reach_s = period_s.max(0.4);
    let mean = |times: &[f64]| {
        let changes = times
            .iter()
            .map(|&time_s| note_change(curve, time_s, reach_s));
        changes.sum::<f64>() / times.len().max(1) as f64
    };
    let (on, half) = (mean(on_s), mean(half_s));
    [(on - half) / (on + half + 0.02), 10.0 * (on - half)]
}

/// How unlike the notes before and after a time are, 0 to 1.
pub(crate) fn note_change(curve: &Onsets, time_s: f64, reach_s: f64) -> f64 {
    let before = curve.notes_between(time_s - reach_s, time_s - 0.04);
    let after = curve.notes_between(time_s + 0.04, time_s + reach_s);
    let alike: f32 = before.iter().zip(&after).map(|(a, b)| a * b).sum();
    if alike > 0.0 {
        1.0 - f64::from(alike)
    } else {
        0.0
    }
}

/// Beats against half beats: how loud, how alike, how sharp.
fn kick_place(on: &BeatLevels, half: &BeatLevels) -> [f64; 10] {
    let lead = |band: usize| (on.loud[band] - half.loud[band]).clamp(-3.0, 3.0);
    let alike = |side: &BeatLevels| {
        let sizes: Vec<f64> = side.levels[0].iter().map(|x| x.abs()).collect();
        quantile(&sizes, 0.5).min(2.0)
    };
    let sharp = |rises: &[f64]| {
        rises.iter().filter(|&&rise| rise > 2.2).count() as f64 / rises.len().max(1) as f64
    };
    [
        lead(0),
        lead(1),
        lead(2),
        lead(3),
        alike(on),
        alike(half),
        sharp(&on.rises[0]),
        sharp(&half.rises[0]),
        sharp(&on.rises[2]),
        sharp(&half.rises[2]),
    ]
}

/// Value below which `share` of the values lie; 0 for none.
fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let index = (share * sorted.len() as f64) as usize;
    sorted.get(index).or(sorted.last()).copied().unwrap_or(0.0)
}

/// Snare opposite the kick: how far low leads on one beat of two and the middle
/// on the other, and the same for one beat of four.
fn backbeat(levels: &BeatLevels) -> [f64; 4] {
    let means = |values: &[f64]| -> [f64; 4] {
        std::array::from_fn(|phase| {
            let (sum, count) = values
                .iter()
                .skip(phase)
                .step_by(4)
                .fold((0.0, 1e-9), |(sum, count), x| (sum + x, count + 1.0));
            sum / count
        })
    };
    let (low, mid) = (means(&levels.levels[0]), means(&levels.levels[2]));
    let gap = |a: [f64; 4], i: usize, j: usize| a[i] - a[j];
    let opposite = (gap(low, 0, 1) + gap(low, 2, 3)) * (gap(mid, 1, 0) + gap(mid, 3, 2)) / 4.0;
    let mid_two = (gap(mid, 1, 0) + gap(mid, 3, 2)).abs() / 2.0;
    let mid_four = gap(mid, 0, 2).abs().max(gap(mid, 1, 3).abs());
    let low_four = gap(low, 0, 2).abs().max(gap(low, 1, 3).abs());
    [
        opposite.clamp(-2.0, 2.0),
        mid_two.min(2.0),
        mid_four.min(2.0),
        low_four.min(2.0),
    ]
}
