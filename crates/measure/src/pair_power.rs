//! Powers of two sides and what follows from them.

use crate::level::{SILENCE_POWER, level_db, ratio_db};

/// What double precision leaves of nothing in the difference of sums.
pub(crate) const DOUBLE_ROUNDING: f64 = 1e-13;
/// The same for sums in single precision, -70 dB.
pub(crate) const SINGLE_ROUNDING: f64 = 1e-7;
/// One channel seen in the other through their common transform, -120 dB.
const CROSSTALK: f64 = 1e-12;

/// Mean squares of both sides and their mean product.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct PairPower {
    pub left: f64,
    pub right: f64,
    pub cross: f64,
}

impl PairPower {
    /// One channel as it plays, on both sides.
    pub fn mono(power: f64) -> Self {
        Self {
            left: power,
            right: power,
            cross: power,
        }
    }

    pub fn plus(self, other: Self) -> Self {
        Self {
            left: self.left + other.left,
            right: self.right + other.right,
            cross: self.cross + other.cross,
        }
    }

    pub fn scaled(self, factor: f64) -> Self {
        Self {
            left: self.left * factor,
            right: self.right * factor,
            cross: self.cross * factor,
        }
    }

    /// Mean of both sides.
    pub fn mean(self) -> f64 {
        0.5 * (self.left + self.right)
    }

    pub fn level_db(self) -> Option<f64> {
        level_db(self.mean())
    }

    /// Power of (left + right) / 2.
    pub fn mid(self) -> f64 {
        (0.5 * (self.mean() + self.cross)).max(0.0)
    }

    /// Power of (left - right) / 2.
    pub fn side(self) -> f64 {
        (0.5 * (self.mean() - self.cross)).max(0.0)
    }

    /// 10 log10(right / left).
    pub fn lean_db(self) -> Option<f64> {
        ratio_db(self.right, self.left)
    }

    /// Side over mid in dB; `None` where there is no side, which is then under
    /// `rounding` of the whole.
    pub fn width_db(self, rounding: f64) -> Option<f64> {
        let rounding = self.mean() * rounding;
        (self.side() > rounding.max(SILENCE_POWER))
            .then(|| ratio_db(self.side(), self.mid()))
            .flatten()
    }

    /// Correlation without removal of the mean; `None` where a side is silent.
    pub fn correlation(self) -> Option<f64> {
        let floor = SILENCE_POWER.max(self.left.max(self.right) * CROSSTALK);
        (self.left.min(self.right) > floor).then(|| {
            let scale = self.left.sqrt() * self.right.sqrt();
            (self.cross / scale).clamp(-1.0, 1.0)
        })
    }
}
