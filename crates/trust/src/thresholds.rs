//! Every limit that decides something, in one place.
//!
//! None of them comes from a standard: each is common practice, no source,
//! unless the line says otherwise.

/// Residual at or below which the files add up to the bounce. A level error of
/// 0.1 dB in everything leaves -38.8 dB (derived), so this stays under it.
pub const ADDS_UP_DB: f64 = -40.0;

/// Residual up to which the balance may be judged although something differs.
/// At -15 dB the rest is a thirtieth of the mix.
pub const BALANCE_DB: f64 = -15.0;

/// Residual of an explained difference (limiter, tone) up to which the balance
/// may be judged.
pub const EXPLAINED_DB: f64 = -18.0;

/// How much an explanation must lower the residual to be named.
pub const EXPLAINS_BY_DB: f64 = 5.0;

/// Faders within this of unity count as being in the files.
pub const UNITY_TOLERANCE_DB: f64 = 0.1;

/// A track that others make to within this is exactly their sum.
pub const EXACT_SUM_DB: f64 = -50.0;

/// A track that others make to within this is probably their sum, with light
/// processing on the way.
pub const PROBABLE_SUM_DB: f64 = -20.0;

/// In a probable sum the gains of the parts lie within this of one another.
pub const SUM_GAIN_SPREAD_DB: f64 = 14.0;

/// Correlation from which two tracks are named as the same audio; leaves -17 dB
/// (derived: 1 - r^2).
pub const NEAR_IDENTICAL_CORRELATION: f64 = 0.99;

/// Largest lag at which two tracks are compared for being the same.
pub const NEAR_IDENTICAL_LAG_S: f64 = 0.05;

/// Files whose peaks lie within this were normalised one by one.
pub const NORMALISED_WITHIN_DB: f64 = 0.1;

/// Flat tops within this of one another are one ceiling.
pub const COMMON_CEILING_WITHIN_DB: f64 = 0.05;

/// A track sounds where it is within this of its own loudest moment.
pub const SOUNDS_WITHIN_LU: f64 = 40.0;

/// A track does not sound below this.
pub const SOUNDS_ABOVE_LUFS: f64 = -60.0;

/// Lengths that differ by more than this are worth a remark.
pub const LENGTHS_DIFFER_S: f64 = 0.1;

/// Sample rates this crate takes.
pub const SAMPLE_RATES_HZ: std::ops::RangeInclusive<u32> = 8_000..=384_000;
