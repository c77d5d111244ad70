//! From the sound of one layer to its facts.

use crate::bands::{BANDS, EDGES_HZ};
use crate::fold::{Cell, STEPS};
use crate::places::{Pattern, pattern};
use crate::strand::Strand;

/// Weakest hit that counts, against a strong one: -14 dB.
const WEAKEST: f32 = 0.04;
/// Share of a hit's sound that must be new.
const NEW: f32 = 0.35;
/// Share of bars a place must be played in.
const SHARE: f64 = 0.45;
/// A sound sounds on while it is within 12 dB of its strong moments.
const SOUNDING: f32 = 0.063;
/// Share of the time a sustained sound sounds on.
const SUSTAINED: f64 = 0.8;
/// Under this a pattern does not tell where something plays.
const TELLS: f64 = 0.5;
/// Bars that count for the level, against the loudest: -10 dB.
const GATE: f32 = 0.1;

/// What the sound of a layer says.
#[derive(Clone, Debug)]
pub(crate) struct Description {
    pub(crate) pattern: Pattern,
    pub(crate) sustained: bool,
    pub(crate) band_hz: (f64, f64),
    pub(crate) length_ms: f64,
    pub(crate) side: f64,
    pub(crate) wide: f64,
    /// Mean power while it plays.
    pub(crate) power: f64,
    /// Share of bars it is heard in.
    pub(crate) heard: f64,
}

/// Describes a sound; `None` for silence.
pub(crate) fn describe(strand: &Strand) -> Option<Description> {
    let curve = strand.curve();
    let strong = quantile(&curve, 0.97);
    if strong <= 1e-11 {
        return None;
    }
    let (power, heard) = level(&curve, strand.steps());
    let onsets = strand.onsets();
    let rises: Vec<f32> = onsets.iter().map(|(rises, _)| rises.iter().sum()).collect();
    let strong_rise = quantile(&rises, 0.97);
    let hit: Vec<bool> = rises
        .iter()
        .zip(&onsets)
        .map(|(&rise, &(_, heard))| {
            rise > WEAKEST * strong_rise && rise > NEW * heard && heard > WEAKEST * strong
        })
        .collect();
    let mut hits = pattern(&hit, strand.slots, SHARE);
    let sounding: Vec<bool> = curve.iter().map(|&p| p > SOUNDING * strong).collect();
    let duty = sounding_share(&sounding, strand.steps());
    let on: Vec<bool> = sounding
        .chunks(STEPS)
        .map(|slot| 2 * slot.iter().filter(|&&on| on).count() >= STEPS)
        .collect();
    let sustained = duty >= SUSTAINED;
    if sustained || hits.fit < TELLS {
        hits = pattern(&on, strand.slots, SHARE);
    }
    let (side, wide) = stereo(&strand.cells);
    let spectrum = if sustained {
        mean_spectrum(&strand.cells)
    } else {
        hit_spectrum(&onsets, &hit).unwrap_or_else(|| mean_spectrum(&strand.cells))
    };
    Some(Description {
        length_ms: 1000.0 * strand.step_s * length_steps(&curve, &hit),
        pattern: hits,
        sustained,
        band_hz: band_of(&spectrum),
        side,
        wide,
        power,
        heard,
    })
}

/// Value that a share of all is under.
pub(crate) fn quantile(values: &[f32], share: f64) -> f32 {
    let mut sorted = values.to_vec();
    if sorted.is_empty() {
        return 0.0;
    }
    let at = ((sorted.len() - 1) as f64 * share).round() as usize;
    *sorted.select_nth_unstable_by(at, f32::total_cmp).1
}

/// Mean power of the bars it is heard in, and their share.
fn level(curve: &[f32], steps: usize) -> (f64, f64) {
    let bars: Vec<f32> = curve
        .chunks(steps.max(1))
        .map(|bar| bar.iter().sum::<f32>() / bar.len() as f32)
        .collect();
    let loudest = bars.iter().copied().fold(0.0, f32::max);
    let heard: Vec<f32> = bars
        .iter()
        .copied()
        .filter(|&p| p > GATE * loudest)
        .collect();
    let mean = heard.iter().map(|&p| f64::from(p)).sum::<f64>() / heard.len().max(1) as f64;
    (mean, heard.len() as f64 / bars.len().max(1) as f64)
}

/// Share of the time it sounds on, in bars it sounds in at all.
fn sounding_share(sounding: &[bool], steps: usize) -> f64 {
    let (mut on, mut of) = (0usize, 0usize);
    for bar in sounding.chunks(steps.max(1)) {
        let here = bar.iter().filter(|&&on| on).count();
        if here > 0 {
            on += here;
            of += bar.len();
        }
    }
    on as f64 / of.max(1) as f64
}

/// Steps from a hit until it has fallen by 12 dB, the median over hits; until the
/// next hit where it has not.
fn length_steps(curve: &[f32], hit: &[bool]) -> f64 {
    let mut lengths: Vec<f32> = Vec::new();
    for (slot, _) in hit.iter().enumerate().filter(|(_, hit)| **hit) {
        let at = slot * STEPS;
        let top = curve[at].max(curve[at + 1]);
        let mut length = 1;
        while at + length + 1 < curve.len() && length < 16 * STEPS {
            let next = (at + length) / STEPS;
            let new_hit = (at + length).is_multiple_of(STEPS) && hit.get(next) == Some(&true);
            if new_hit || curve[at + length] < SOUNDING * top {
                break;
            }
            length += 1;
        }
        lengths.push(length as f32);
    }
    if lengths.is_empty() {
        return STEPS as f64;
    }
    f64::from(quantile(&lengths, 0.5))
}

fn mean_spectrum(cells: &[[Cell; BANDS]]) -> [f64; BANDS] {
    let mut spectrum = [0.0; BANDS];
    for bands in cells {
        for (sum, cell) in spectrum.iter_mut().zip(bands) {
            *sum += f64::from(cell.sum);
        }
    }
    spectrum
}

fn hit_spectrum(onsets: &[([f32; BANDS], f32)], hit: &[bool]) -> Option<[f64; BANDS]> {
    let mut spectrum = [0.0; BANDS];
    for ((rises, _), _) in onsets.iter().zip(hit).filter(|(_, hit)| **hit) {
        for (sum, &rise) in spectrum.iter_mut().zip(rises) {
            *sum += f64::from(rise);
        }
    }
    (spectrum.iter().sum::<f64>() > 0.0).then_some(spectrum)
}

/// Where the middle four fifths of a spectrum lie.
pub(crate) fn band_of(spectrum: &[f64; BANDS]) -> (f64, f64) {
    let total: f64 = spectrum.iter().sum();
    let edge = |share: f64| {
        let mut sum = 0.0;
        for (band, &power) in spectrum.iter().enumerate() {
            if sum + power >= share * total {
                let within = ((share * total - sum) / power.max(1e-30)).clamp(0.0, 1.0);
                let (low, high) = (EDGES_HZ[band], EDGES_HZ[band + 1]);
                return low * (high / low).powf(within);
            }
            sum += power;
        }
        EDGES_HZ[BANDS]
    };
    (edge(0.1), edge(0.9))
}

/// Side as a constant-power pan, and how unlike the sides are.
fn stereo(cells: &[[Cell; BANDS]]) -> (f64, f64) {
    let (mut sum, mut difference, mut cross) = (0.0, 0.0, 0.0);
    for cell in cells.iter().flatten() {
        sum += f64::from(cell.sum);
        difference += f64::from(cell.difference);
        cross += f64::from(cell.cross);
    }
    if sum <= 0.0 {
        return (0.0, 0.0);
    }
    let balance = (difference / sum).clamp(-1.0, 1.0);
    let side = balance.asin() / std::f64::consts::FRAC_PI_2;
    let (left, right) = (0.5 * (sum - difference), 0.5 * (sum + difference));
    let alike = cross / (left * right).sqrt().max(1e-12 * sum);
    (side, (1.0 - alike).clamp(0.0, 1.0))
}
