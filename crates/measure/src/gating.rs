//! Integrated loudness and loudness range from powers of 100 ms.
//!
//! Sources: ITU-R BS.1770-5, Annex 1, equations 2 to 7; EBU Tech 3342, section
//! 3 and its reference code (percentiles without interpolation).

use crate::level::SILENCE_POWER;
use cupel_units::{db_to_power, power_to_db};

/// Brings a full-scale 997 Hz sine in one channel to -3.01 LKFS (equation 2).
const OFFSET_DB: f64 = -0.691;
const ABSOLUTE_GATE_LUFS: f64 = -70.0;
const RELATIVE_GATE_LU: f64 = 10.0;
const RANGE_GATE_LU: f64 = 20.0;
const GATING_BLOCK: usize = 4;
pub(crate) const SHORT_TERM_BLOCK: usize = 30;

/// Loudness of a K-weighted, channel-weighted power; silence is minus infinity.
pub(crate) fn loudness_of_power(power: f64) -> f64 {
    if power > SILENCE_POWER {
        OFFSET_DB + power_to_db(power)
    } else {
        f64::NEG_INFINITY
    }
}

/// As [`loudness_of_power`], with silence as `None`.
pub(crate) fn lufs(power: f64) -> Option<f64> {
    let loudness = loudness_of_power(power);
    loudness.is_finite().then_some(loudness)
}

fn power_of_loudness(loudness_lufs: f64) -> f64 {
    db_to_power(loudness_lufs - OFFSET_DB)
}

/// Integrated loudness of consecutive K-weighted 100 ms powers (weighted sums
/// of channels), gated at -70 LUFS and 10 LU under the mean.
///
/// `None` where no 400 ms block is louder than -70 LUFS.
///
/// ```
/// // A steady power of one reads the offset of the formula.
/// let loudness = cupel_measure::integrated_loudness(&[1.0; 10]);
/// assert!((loudness.unwrap() + 0.691).abs() < 1e-9);
/// assert_eq!(cupel_measure::integrated_loudness(&[0.0; 10]), None);
/// ```
pub fn integrated_loudness(powers_100_ms: &[f64]) -> Option<f64> {
    let blocks = window_means(powers_100_ms, GATING_BLOCK);
    let absolute = power_of_loudness(ABSOLUTE_GATE_LUFS);
    let first = mean_above(&blocks, absolute)?;
    let relative = first * db_to_power(-RELATIVE_GATE_LU);
    lufs(mean_above(&blocks, absolute.max(relative))?)
}

/// Loudness range of consecutive K-weighted 100 ms powers, in LU.
///
/// `None` under 3 s, or where no 3 s window is louder than -70 LUFS.
pub fn loudness_range(powers_100_ms: &[f64]) -> Option<f64> {
    let mut windows = window_means(powers_100_ms, SHORT_TERM_BLOCK);
    let absolute = power_of_loudness(ABSOLUTE_GATE_LUFS);
    windows.retain(|&power| power >= absolute);
    let mean = mean_above(&windows, 0.0)?;
    let relative = mean * db_to_power(-RANGE_GATE_LU);
    windows.retain(|&power| power >= relative);
    windows.sort_by(f64::total_cmp);
    let at =
        |percent: f64| windows[((windows.len() - 1) as f64 * percent / 100.0).round() as usize];
    Some(power_to_db(at(95.0) / at(10.0)))
}

fn window_means(powers: &[f64], length: usize) -> Vec<f64> {
    powers
        .windows(length)
        .map(|window| window.iter().sum::<f64>() / length as f64)
        .collect()
}

/// Mean of the values strictly above `gate`, or `None` where there are none.
fn mean_above(values: &[f64], gate: f64) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0usize);
    for &value in values.iter().filter(|&&value| value > gate) {
        sum += value;
        count += 1;
    }
    (count > 0).then(|| sum / count as f64)
}
