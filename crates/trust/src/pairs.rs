//! Files with the same audio, at whatever gain, polarity or small lag.
//!
//! What it measures: correlation, first at no lag, then within 50 ms where the
//! loudness of two files rises and falls alike.
//! Why it matters: a copy doubles a sound, or thins it by comb filtering.
//! Threshold and source: [`NEAR_IDENTICAL_CORRELATION`].
//! How to mend: leave one out, unless the doubling is meant.
//! When it is wrong: two layers of one pure tone correlate as copies do.

use nalgebra::DMatrix;

use crate::TrustError;
use crate::correlate::{correlate, energy, largest, local_energy};
use crate::feed::{Placed, PlacedStream};
use crate::thresholds::{
    EXACT_SUM_DB, NEAR_IDENTICAL_CORRELATION, NEAR_IDENTICAL_LAG_S, SOUNDS_WITHIN_LU,
};
use crate::windows::{Curve, SLOT_S};
use cupel_units::{db_to_power, power_to_db};

/// Slots at which a pair is compared at a lag.
const SLOTS_COMPARED: usize = 3;

/// Spread of the loudness difference below which a pair is worth comparing at
/// a lag, dB (common practice, no source).
const CURVES_ALIKE_DB: f64 = 1.5;

/// Two columns with the same audio.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pair {
    pub a: usize,
    pub b: usize,
    pub level_db: f64,
    pub correlation: f64,
    pub lag_samples: i64,
}

impl Pair {
    pub fn is_exact(&self) -> bool {
        1.0 - self.correlation * self.correlation <= db_to_power(EXACT_SUM_DB)
    }
}

/// All pairs among `tracks`, in order.
pub(crate) fn find_pairs(
    gram: &DMatrix<f64>,
    tracks: &[usize],
    sources: &[Placed],
    curves: &[Curve],
    slots: &[usize],
    rate_hz: u32,
) -> Result<Vec<Pair>, TrustError> {
    let mut found = Vec::new();
    for (position, &a) in tracks.iter().enumerate() {
        for &b in &tracks[position + 1..] {
            let pair = match at_no_lag(gram, a, b) {
                Some(pair) => Some(pair),
                None if curves_alike(&curves[a], &curves[b]) => {
                    at_a_lag(a, b, sources, curves, slots, rate_hz)?
                }
                None => None,
            };
            found.extend(pair);
        }
    }
    Ok(found)
}

fn at_no_lag(gram: &DMatrix<f64>, a: usize, b: usize) -> Option<Pair> {
    let (power_a, power_b) = (gram[(a, a)], gram[(b, b)]);
    if power_a <= 0.0 || power_b <= 0.0 {
        return None;
    }
    let correlation = gram[(a, b)] / (power_a * power_b).sqrt();
    (correlation.abs() >= NEAR_IDENTICAL_CORRELATION).then(|| Pair {
        a,
        b,
        level_db: power_to_db(power_b / power_a),
        correlation: correlation.clamp(-1.0, 1.0),
        lag_samples: 0,
    })
}

/// Whether the loudness of both rises and falls together.
fn curves_alike(a: &Curve, b: &Curve) -> bool {
    let loudest = |curve: &Curve| {
        curve
            .momentary_lufs
            .iter()
            .copied()
            .filter(|value| value.is_finite())
            .fold(f32::NEG_INFINITY, f32::max)
    };
    let half = SOUNDS_WITHIN_LU as f32 / 2.0;
    let (floor_a, floor_b) = (loudest(a) - half, loudest(b) - half);
    let shift = b.shift_values - a.shift_values;
    let (mut either, mut both) = (0usize, 0usize);
    let (mut sum, mut squares) = (0.0f64, 0.0f64);
    for (index, &value_a) in a.momentary_lufs.iter().enumerate() {
        let value_b = usize::try_from(index as i64 - shift)
            .ok()
            .and_then(|index| b.momentary_lufs.get(index))
            .copied()
            .unwrap_or(f32::NEG_INFINITY);
        let (sounds_a, sounds_b) = (value_a >= floor_a, value_b >= floor_b);
        either += usize::from(sounds_a || sounds_b);
        if sounds_a && sounds_b {
            both += 1;
            let apart = f64::from(value_b - value_a);
            sum += apart;
            squares += apart * apart;
        }
    }
    if both < 5 || both * 10 < either * 8 {
        return false;
    }
    let mean = sum / both as f64;
    (squares / both as f64 - mean * mean).max(0.0).sqrt() <= CURVES_ALIKE_DB
}

fn at_a_lag(
    a: usize,
    b: usize,
    sources: &[Placed],
    curves: &[Curve],
    slots: &[usize],
    rate_hz: u32,
) -> Result<Option<Pair>, TrustError> {
    let length = (SLOT_S * f64::from(rate_hz)) as usize;
    let reach = (NEAR_IDENTICAL_LAG_S * f64::from(rate_hz)) as usize;
    let (mut stream_a, mut stream_b) = (
        PlacedStream::open(&sources[a])?,
        PlacedStream::open(&sources[b])?,
    );
    let mut products = vec![0.0; 2 * reach + 1];
    let mut energies = vec![0.0; 2 * reach + 1];
    let mut energy_a = 0.0;
    for start in loudest_slots(&curves[a], slots) {
        let start = start * length;
        let sides_a = read_sides(&mut stream_a, start as i64, length)?;
        let sides_b = read_sides(
            &mut stream_b,
            start as i64 - reach as i64,
            length + 2 * reach,
        )?;
        for (side_a, side_b) in sides_a.iter().zip(&sides_b) {
            energy_a += energy(side_a);
            add(&mut products, &correlate(side_a, side_b));
            add(&mut energies, &local_energy(side_b, length));
        }
    }
    let normalised: Vec<f64> = products
        .iter()
        .zip(&energies)
        .map(|(product, energy)| product / (energy * energy_a).sqrt().max(f64::MIN_POSITIVE))
        .collect();
    let Some(best) = largest(&normalised) else {
        return Ok(None);
    };
    let correlation = normalised[best].clamp(-1.0, 1.0);
    Ok(
        (energy_a > 0.0 && correlation.abs() >= NEAR_IDENTICAL_CORRELATION).then(|| Pair {
            a,
            b,
            level_db: power_to_db(energies[best] / energy_a),
            correlation,
            lag_samples: best as i64 - reach as i64,
        }),
    )
}

fn loudest_slots(curve: &Curve, slots: &[usize]) -> Vec<usize> {
    let level = |slot: usize| {
        usize::try_from((slot * 5 + 4) as i64 - curve.shift_values)
            .ok()
            .and_then(|index| curve.momentary_lufs.get(index))
            .copied()
            .filter(|value| !value.is_nan())
            .unwrap_or(f32::NEG_INFINITY)
    };
    let mut ordered = slots.to_vec();
    ordered.sort_by(|&x, &y| level(y).total_cmp(&level(x)).then(x.cmp(&y)));
    ordered.truncate(SLOTS_COMPARED);
    ordered
}

/// Both sides from `start`, with silence before the common start.
pub(crate) fn read_sides(
    stream: &mut PlacedStream,
    start: i64,
    length: usize,
) -> Result<[Vec<f64>; 2], TrustError> {
    let mut left = vec![0.0; length];
    let mut right = vec![0.0; length];
    let before = ((-start).max(0) as usize).min(length);
    stream.seek(start.max(0) as u64)?;
    stream.fill(&mut left[before..], &mut right[before..])?;
    Ok([left, right])
}

fn add(sum: &mut [f64], values: &[f64]) {
    for (sum, value) in sum.iter_mut().zip(values) {
        *sum += value;
    }
}
