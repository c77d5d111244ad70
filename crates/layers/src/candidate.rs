//! A layer that may be there, with what speaks for it.

use crate::places::Pattern;

#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    /// Which search it comes from.
    pub(crate) origin: usize,
    pub(crate) pattern: Pattern,
    pub(crate) sustained: bool,
    pub(crate) band_hz: (f64, f64),
    pub(crate) length_ms: f64,
    pub(crate) side: f64,
    pub(crate) wide: f64,
    /// Mean loudness-weighted power.
    pub(crate) power: f64,
    /// How well one pattern tells its places.
    pub(crate) fit: f64,
    /// Its share of what is heard at its places in its bands.
    pub(crate) own: f64,
    /// How far its places stand out from the others.
    pub(crate) contrast: f64,
    /// Share of bars in which its places are played.
    pub(crate) played: f64,
    /// Share of other sixteenths in which something like it is.
    pub(crate) elsewhere: f64,
    /// What is left of it after 2.5 and after 5.5 steps.
    pub(crate) kept: [f64; 2],
}
