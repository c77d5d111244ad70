//! What speaks for a metre and for the place of the bar line: kick and snare,
//! the low end, harmony and changes of energy.

use crate::beat_features::{BeatLevels, Scene, explained, note_change};
use crate::onset_bands::BANDS;
use crate::onset_curve::Onsets;
use crate::slots::{IN_BEAT, Slots};

/// Metres with their bar lines: four places in 4/4, three in 3/4.
pub(crate) const BARS: [(usize, usize); 7] =
    [(4, 0), (4, 1), (4, 2), (4, 3), (3, 0), (3, 1), (3, 2)];
/// Series that are folded into bars.
const SERIES: usize = 9;
/// Series whose pattern alone speaks for a metre.
const METRE_SERIES: usize = 6;
/// Features of a pattern by sixteenth in 4/4 and in 3/4.
const PATTERN_FOUR: usize = 4 * IN_BEAT * 3;
const PATTERN_THREE: usize = 3 * IN_BEAT * 3;
/// Features of one of [`BARS`]: by beat in 4/4, in 3/4, metre, sections and
/// entries, by sixteenth.
pub(crate) const BAR_FEATURES: usize =
    SERIES * 7 + METRE_SERIES + 1 + 6 + PATTERN_FOUR + PATTERN_THREE;

/// Series by beat, each of mean 0 and spread 1 where it moves.
fn series(curve: &Onsets, times: &[f64], levels: &BeatLevels) -> [Vec<f64>; SERIES] {
    let BeatLevels { levels, rises, .. } = levels.clone();
    let period_s = middle_period(times);
    let [low, low_mid, mid, high] = levels;
    let [low_rise, _, mid_rise, _] = rises;
    let mut all = [
        low,
        low_mid,
        mid,
        high,
        harmony_change(curve, times, period_s, 2),
        low_rise,
        mid_rise,
        harmony_change(curve, times, period_s, 4),
        energy_change(curve, times, period_s),
    ];
    all.iter_mut().for_each(|values| standardise(values));
    all
}

fn standardise(values: &mut [f64]) {
    let count = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / count;
    let spread = (values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / count).sqrt();
    for value in values {
        *value = (*value - mean) / (spread + 1e-3);
    }
}

/// How unlike the `reach` beats before and from each beat on sound.
fn harmony_change(curve: &Onsets, times: &[f64], period_s: f64, reach: usize) -> Vec<f64> {
    let reach_s = reach as f64 * period_s;
    let changes = times
        .iter()
        .map(|&time_s| note_change(curve, time_s, reach_s));
    changes.collect()
}

/// Change of the bands' levels from the eight beats before to the eight from
/// each beat on, where it is greatest within two beats; else 0.
fn energy_change(curve: &Onsets, times: &[f64], period_s: f64) -> Vec<f64> {
    const REACH: usize = 8;
    let by_beat: Vec<[f64; BANDS]> = times
        .iter()
        .map(|&time_s| {
            let index =
                |s: f64| ((s / curve.hop_s).round().max(0.0) as usize).min(curve.powers[0].len());
            let (from, to) = (index(time_s - 0.01), index(time_s + period_s - 0.01));
            std::array::from_fn(|band| {
                let powers = &curve.powers[band];
                let sum: f64 = powers[from.min(to)..to].iter().map(|&p| f64::from(p)).sum();
                (sum / (to - from.min(to)).max(1) as f64 + 0.003 * curve.means[band] + 1e-12).ln()
            })
        })
        .collect();
    let change: Vec<f64> = (0..times.len())
        .map(|beat| {
            let before = &by_beat[beat.saturating_sub(REACH)..beat];
            let after = &by_beat[beat..(beat + REACH).min(times.len())];
            if before.len() < 4 || after.len() < 4 {
                return 0.0;
            }
            (0..BANDS)
                .map(|band| {
                    let mean = |beats: &[[f64; BANDS]]| {
                        beats.iter().map(|levels| levels[band]).sum::<f64>() / beats.len() as f64
                    };
                    (mean(after) - mean(before)).abs()
                })
                .sum()
        })
        .collect();
    (0..change.len())
        .map(|beat| {
            let near = &change[beat.saturating_sub(2)..(beat + 3).min(change.len())];
            let highest = near.iter().all(|&other| other <= change[beat]);
            if highest { change[beat] } else { 0.0 }
        })
        .collect()
}

/// Features of every one of [`BARS`]; `times` are the beats, `levels` what
/// happens at them.
pub(crate) fn bar_features(
    scene: &Scene,
    times: &[f64],
    levels: &BeatLevels,
) -> [[f64; BAR_FEATURES]; 7] {
    let curve = scene.curve;
    let series = series(curve, times, levels);
    let changes = strongest(&series[8], 6);
    let first_loud = first_loud_beat(curve, times);
    let slots = Slots::of(curve, times);
    let (four, three) = (slots.pattern(4), slots.pattern(3));
    let low = nearest_beats(&scene.entries.low_s, times);
    let upper = nearest_beats(&scene.entries.upper_s, times);
    std::array::from_fn(|which| {
        let (metre, first) = BARS[which];
        let mut out = [0.0; BAR_FEATURES];
        let base = if metre == 4 { 0 } else { 4 * SERIES };
        for (index, values) in series.iter().enumerate() {
            for place in 0..metre {
                let beat = (first + place) % metre;
                out[base + metre * index + place] = fold_mean(values, beat, metre);
            }
        }
        let metre_sign = if metre == 4 { 1.0 } else { -1.0 };
        for (index, values) in series.iter().take(METRE_SERIES).enumerate() {
            let (four, three) = (explained(values, 4), explained(values, 3));
            out[SERIES * 7 + index] = metre_sign * (four - three);
        }
        let rest = &mut out[SERIES * 7 + METRE_SERIES..];
        rest[0] = metre_sign;
        rest[1] = if first_loud % metre == first {
            1.0
        } else {
            0.0
        };
        rest[2] = on_lines(&changes, metre, first);
        rest[3] = on_lines(&changes, 4 * metre, first).max(
            (1..4)
                .map(|bar| on_lines(&changes, 4 * metre, first + bar * metre))
                .fold(0.0, f64::max),
        );
        rest[4] = if metre == 4 { 0.0 } else { rest[3] };
        rest[5] = share_on(&low, metre, first);
        rest[6] = share_on(&upper, metre, first);
        let (pattern, base) = if metre == 4 {
            (&four, 0)
        } else {
            (&three, PATTERN_FOUR)
        };
        let turned = pattern.iter().cycle().skip(first * IN_BEAT);
        let places = rest[7 + base..].chunks_exact_mut(3);
        for (place, values) in places.zip(turned.take(pattern.len())) {
            place.copy_from_slice(values);
        }
        out
    })
}

/// Beat each time lies nearest to.
fn nearest_beats(times_s: &[f64], beats: &[f64]) -> Vec<usize> {
    let half_s = 0.5 * middle_period(beats);
    let beat_of = |&time_s: &f64| {
        let place = beats.partition_point(|&beat| beat < time_s - half_s);
        let near = beats
            .get(place)
            .is_some_and(|beat| (beat - time_s).abs() < 0.25 * half_s);
        near.then_some(place)
    };
    times_s.iter().filter_map(beat_of).collect()
}

/// Share of beats that are the first of a bar, held down where there are few.
fn share_on(beats: &[usize], metre: usize, first: usize) -> f64 {
    let on = beats.iter().filter(|&&beat| beat % metre == first).count();
    on as f64 / (beats.len() as f64 + 1.0)
}

fn fold_mean(values: &[f64], first: usize, metre: usize) -> f64 {
    let (sum, count) = values
        .iter()
        .skip(first)
        .step_by(metre)
        .fold((0.0, 1e-9), |(sum, count), x| (sum + x, count + 1.0));
    sum / count
}

/// Beats of the greatest values, with their weights.
fn strongest(values: &[f64], most: usize) -> Vec<(usize, f64)> {
    let mut order: Vec<(usize, f64)> = values.iter().copied().enumerate().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    order.truncate(most);
    order.retain(|&(_, value)| value > 0.5);
    order
}

/// Share of the changes that fall on multiples of `every` beats from `first`.
fn on_lines(changes: &[(usize, f64)], every: usize, first: usize) -> f64 {
    let all: f64 = changes.iter().map(|c| c.1).sum();
    let on: f64 = changes
        .iter()
        .filter(|(beat, _)| beat % every == first % every)
        .map(|c| c.1)
        .sum();
    if all > 0.0 { on / all } else { 0.0 }
}

/// The beat at which sound starts.
fn first_loud_beat(curve: &Onsets, times: &[f64]) -> usize {
    let Some(start) = curve.hits.first() else {
        return 0;
    };
    let half_s = 0.5 * middle_period(times);
    times.partition_point(|&beat| beat < start.time_s - half_s)
}

/// Mean time from beat to beat.
fn middle_period(times: &[f64]) -> f64 {
    match (times.first(), times.last()) {
        (Some(first), Some(last)) if times.len() > 1 => (last - first) / (times.len() - 1) as f64,
        _ => 0.5,
    }
}
