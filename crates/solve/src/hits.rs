//! Do kick and bass help or hinder each other?
//!
//! Read on the hits where both sound below 150 Hz: the power of their sum against
//! that with the bass turned over. Threshold: common practice, no source; asked for
//! on most hits, because what cancels at one note helps at another.

use serde::Serialize;

/// What turning the bass over must gain, dB.
pub(crate) const LEAST_GAIN_DB: f64 = 1.0;
/// On this part of the hits, all with one sign.
pub(crate) const LEAST_PART: f64 = 0.8;
/// Fewer hits tell nothing.
const LEAST_HITS: usize = 4;
/// A hit counts where the softer of both is not further below the louder.
pub(crate) const RANGE_DB: f64 = 15.0;

/// Powers below 150 Hz in one hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowHit {
    /// Of the kick element.
    pub kick: f64,
    /// Of the bass element.
    pub bass: f64,
    /// Of both together.
    pub both: f64,
}

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "answer")]
pub enum Polarity {
    /// Turning the bass over gains level on nearly all hits.
    Turn {
        /// Median gain of turning it, dB.
        gain_db: f64,
        /// Hits looked at.
        hits: usize,
    },
    /// As it is, it is better on nearly all hits.
    Right {
        /// What turning it would lose, dB.
        loss_db: f64,
        /// Hits looked at.
        hits: usize,
    },
    /// No side wins, or too few hits.
    CannotTell {
        /// Hits looked at.
        hits: usize,
    },
}

/// Judges the hits.
pub fn polarity(hits: &[LowHit]) -> Polarity {
    let range = 10f64.powf(-RANGE_DB / 10.0);
    let mut gains_db: Vec<f64> = hits
        .iter()
        .filter(|hit| {
            let (soft, loud) = (hit.kick.min(hit.bass), hit.kick.max(hit.bass));
            soft > 0.0 && soft > range * loud
        })
        .map(|hit| {
            let floor = 1e-6 * (hit.kick + hit.bass);
            let turned = 2.0 * (hit.kick + hit.bass) - hit.both;
            10.0 * (turned.max(floor) / hit.both.max(floor)).log10()
        })
        .collect();
    gains_db.sort_by(f64::total_cmp);
    let hits = gains_db.len();
    let part = |wanted: &dyn Fn(f64) -> bool| {
        gains_db.iter().filter(|&&gain_db| wanted(gain_db)).count() as f64 / hits.max(1) as f64
    };
    let middle_db = gains_db.get(hits / 2).copied().unwrap_or(0.0);
    if hits >= LEAST_HITS && part(&|gain_db| gain_db > LEAST_GAIN_DB) >= LEAST_PART {
        Polarity::Turn {
            gain_db: middle_db,
            hits,
        }
    } else if hits >= LEAST_HITS && part(&|gain_db| gain_db < -LEAST_GAIN_DB) >= LEAST_PART {
        Polarity::Right {
            loss_db: -middle_db,
            hits,
        }
    } else {
        Polarity::CannotTell { hits }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two sines of one frequency and powers 1 and 1 at an angle: the sum has
    /// 2 + 2 cos, turned over 2 - 2 cos.
    fn hit(angle_degrees: f64) -> LowHit {
        LowHit {
            kick: 1.0,
            bass: 1.0,
            both: 2.0 + 2.0 * angle_degrees.to_radians().cos(),
        }
    }

    #[test]
    fn cancelling_hits_ask_for_a_turn() {
        // 10 log10 (3 / 1) = 4.77 dB at 120 degrees.
        let Polarity::Turn { gain_db, hits } = polarity(&[hit(120.0); 8]) else {
            panic!("no turn");
        };
        assert!((gain_db - 4.771).abs() < 1e-3 && hits == 8);
        assert!(matches!(polarity(&[hit(60.0); 8]), Polarity::Right { .. }));
    }

    #[test]
    fn mixed_signs_few_hits_and_soft_basses_tell_nothing() {
        let mixed = [hit(120.0), hit(60.0), hit(120.0), hit(60.0), hit(120.0)];
        assert_eq!(polarity(&mixed), Polarity::CannotTell { hits: 5 });
        assert_eq!(polarity(&[hit(180.0); 3]), Polarity::CannotTell { hits: 3 });
        let soft = LowHit {
            kick: 1.0,
            bass: 0.01,
            both: 0.9,
        };
        assert_eq!(polarity(&[soft; 9]), Polarity::CannotTell { hits: 0 });
    }
}
