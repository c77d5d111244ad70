//! Brick-wall upper limit of the long-term spectrum.
//!
//! Lossy coders cut what lies above some frequency within a few hundred hertz;
//! instruments and equalisers fall off gently. The limit is where the power
//! falls by 40 dB within 600 Hz and does not come back (common practice, no
//! source).

use crate::long_term::BinPowers;

const STEP_DB: f64 = 40.0;
const LOWEST_HZ: f64 = 5_000.0;
const HIGHEST_HZ: f64 = 20_500.0;
/// Width of the stretches compared, and of the gap between them.
const STRETCH_HZ: f64 = 500.0;
const GAP_HZ: f64 = 600.0;
/// The stretch below must lie above this share of the whole power, bin by bin.
const FAINTEST_DB: f64 = -110.0;

/// The upper limit in Hz, if there is one.
pub(crate) fn bandwidth_hz(spectrum: &BinPowers, nyquist_hz: f64) -> Option<f64> {
    let powers = spectrum.mean_powers();
    let total: f64 = powers.iter().sum();
    let bins = |hz: f64| (hz / spectrum.width_hz).round() as usize;
    let (stretch, half_gap) = (bins(STRETCH_HZ), bins(GAP_HZ / 2.0));
    let highest = bins(HIGHEST_HZ).min(bins(nyquist_hz).saturating_sub(stretch + half_gap));
    let ceilings = maxima_from(&powers);
    let mut best: Option<(f64, usize, f64)> = None;
    for bin in bins(LOWEST_HZ)..highest {
        let below = low_decile(&powers[bin - half_gap - stretch..bin - half_gap]);
        let above = ceilings[bin + half_gap];
        let step_db = 10.0 * (below / above.max(f64::MIN_POSITIVE)).log10();
        let present = below > total * 10f64.powf(FAINTEST_DB / 10.0);
        if present && step_db >= STEP_DB && best.is_none_or(|(most, ..)| step_db > most) {
            best = Some((step_db, bin, below));
        }
    }
    let (_, bin, below) = best?;
    // The last bin within 20 dB of what lies below the step.
    let limit = (bin - half_gap - stretch..=bin + half_gap)
        .rev()
        .find(|&k| powers[k] > below / 100.0)?;
    Some(limit as f64 * spectrum.width_hz)
}

/// The largest power from each bin on.
fn maxima_from(powers: &[f64]) -> Vec<f64> {
    let mut maxima = powers.to_vec();
    for bin in (0..powers.len().saturating_sub(1)).rev() {
        maxima[bin] = maxima[bin].max(maxima[bin + 1]);
    }
    maxima
}

/// What nine bins in ten are stronger than, so that a few tones do not pass for
/// a full spectrum.
fn low_decile(powers: &[f64]) -> f64 {
    let mut sorted = powers.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[sorted.len() / 10]
}
