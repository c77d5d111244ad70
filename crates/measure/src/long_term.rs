//! The long-term spectrum: short frames above, long frames of the decimated
//! signal below, joined where both resolve well.

use crate::bin_span::BinSpan;
use crate::frame_powers::Powers;
use crate::pair_power::PairPower;

/// Where the two spectra join: the upper edge of the 250 Hz one-third octave,
/// 10^(2.45) Hz.
pub(crate) const JOIN_HZ: f64 = 281.838_293_126_445_4;

/// Long-term powers of bins, as mean squares over the whole file.
#[derive(Clone, Debug)]
pub(crate) struct BinPowers {
    pub width_hz: f64,
    pub powers: Powers<f64>,
}

impl BinPowers {
    /// Power from `low_hz` to `high_hz`.
    fn between(&self, low_hz: f64, high_hz: f64) -> PairPower {
        let span = BinSpan::new(low_hz, high_hz, self.width_hz, self.powers.left.len());
        let left = span.sum_f64(&self.powers.left);
        if self.powers.right.is_empty() {
            return PairPower::mono(left);
        }
        PairPower {
            left,
            right: span.sum_f64(&self.powers.right),
            cross: span.sum_f64(&self.powers.cross),
        }
    }

    /// Mean of both sides, bin by bin.
    pub fn mean_powers(&self) -> Vec<f64> {
        if self.powers.right.is_empty() {
            return self.powers.left.clone();
        }
        let sides = self.powers.left.iter().zip(&self.powers.right);
        sides.map(|(left, right)| 0.5 * (left + right)).collect()
    }
}

/// The spectrum of the whole file.
#[derive(Clone, Debug)]
pub(crate) struct LongTerm {
    /// From the decimated signal; valid up to [`JOIN_HZ`].
    pub low: BinPowers,
    /// From the full band.
    pub high: BinPowers,
    pub nyquist_hz: f64,
}

impl LongTerm {
    /// Mean squares between two frequencies. Up to half the sample rate and
    /// beyond means everything.
    pub fn between(&self, low_hz: f64, high_hz: f64) -> PairPower {
        let mut power = PairPower::default();
        if low_hz < JOIN_HZ {
            power = power.plus(self.low.between(low_hz, high_hz.min(JOIN_HZ)));
        }
        if high_hz > JOIN_HZ {
            let high_hz = if high_hz >= self.nyquist_hz {
                2.0 * self.nyquist_hz
            } else {
                high_hz
            };
            power = power.plus(self.high.between(low_hz.max(JOIN_HZ), high_hz));
        }
        power
    }
}
