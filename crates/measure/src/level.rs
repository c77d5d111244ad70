//! Powers to levels that are never infinite.

use cupel_units::power_to_db;

/// Powers at or under this (-200 dB) count as silence.
pub(crate) const SILENCE_POWER: f64 = 1e-20;

/// Ratios of levels are reported within this, so that a track on one side only
/// has a finite lean.
pub(crate) const RATIO_LIMIT_DB: f64 = 100.0;

/// The level of a mean square in dB, or `None` for silence.
pub(crate) fn level_db(power: f64) -> Option<f64> {
    (power > SILENCE_POWER && power.is_finite()).then(|| power_to_db(power))
}

/// 10 log10 of a ratio of powers, held within +-100 dB; `None` where both are
/// silent.
pub(crate) fn ratio_db(numerator: f64, denominator: f64) -> Option<f64> {
    if numerator.max(denominator) <= SILENCE_POWER {
        return None;
    }
    let db = power_to_db(numerator.max(0.0)) - power_to_db(denominator.max(0.0));
    Some(db.clamp(-RATIO_LIMIT_DB, RATIO_LIMIT_DB))
}
