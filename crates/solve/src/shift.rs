//! Would kick and bass help each other, the bass a little earlier or later?
//!
//! On every hit where both sound below 150 Hz the power of the sum against the sum of
//! the powers, `1 + 2 x(d) / (k + b(d))`, with the bass shifted by `d`, its power `b`
//! and the product `x` with the kick. A shift is asked for where one and the same
//! gains more than 1 dB on nearly all hits, as for polarity. A bass that stands to the
//! kick as chance has it gains on about half the hits, whatever the shift; as there
//! are several to choose from, more hits are asked for than for polarity.

use cupel_barmap::{LowWaves, WavePair};
use serde::Serialize;

use crate::hits::{LEAST_GAIN_DB, LEAST_PART, Polarity, RANGE_DB};

/// Fewer hits tell nothing.
const LEAST_HITS: usize = 8;

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "answer")]
pub enum Offset {
    /// The bass a little earlier or later gains level on nearly all hits.
    Shift {
        /// Shift of the bass, ms; positive is later.
        delay_ms: f64,
        /// Median gain of shifting it, dB.
        gain_db: f64,
        /// Hits looked at.
        hits: usize,
    },
    /// Turning the bass over does as much.
    TurnInstead {
        /// Hits looked at.
        hits: usize,
    },
    /// No shift gains on nearly all hits, or too few hits.
    CannotTell {
        /// Hits looked at.
        hits: usize,
    },
}

/// Judges the hits; a turn of polarity that does as much (to 1 dB) comes first.
pub fn offset(waves: &LowWaves, polarity: Option<Polarity>) -> Offset {
    let margin = waves.margin();
    let sums: Vec<Vec<f64>> = waves
        .hits
        .iter()
        .filter_map(|hit| sums_of(hit, margin))
        .collect();
    let hits = sums.len();
    if hits < LEAST_HITS {
        return Offset::CannotTell { hits };
    }
    let mut best: Option<(f64, usize)> = None;
    // From no shift outwards, so that of equals the smallest wins.
    let mut shifts: Vec<usize> = (0..=2 * margin).collect();
    shifts.sort_by_key(|shift| shift.abs_diff(margin));
    for shift in shifts {
        let mut gains_db: Vec<f64> = sums
            .iter()
            .map(|sums| 10.0 * (sums[shift] / sums[margin]).log10())
            .collect();
        gains_db.sort_by(f64::total_cmp);
        let gaining = gains_db.iter().filter(|&&db| db > LEAST_GAIN_DB).count();
        let middle_db = gains_db[hits / 2];
        let enough = gaining as f64 >= LEAST_PART * hits as f64;
        if enough && best.is_none_or(|(best_db, _)| middle_db > best_db) {
            best = Some((middle_db, shift));
        }
    }
    let Some((gain_db, shift)) = best else {
        return Offset::CannotTell { hits };
    };
    match polarity {
        Some(Polarity::Turn {
            gain_db: turned_db, ..
        }) if gain_db < turned_db + LEAST_GAIN_DB => Offset::TurnInstead { hits },
        _ => Offset::Shift {
            delay_ms: 1000.0 * (shift as f64 - margin as f64) / waves.rate_hz,
            gain_db,
            hits,
        },
    }
}

/// Power of the sum against the sum of the powers by shift, from the earliest on;
/// `None` where one of both is too soft.
fn sums_of(hit: &WavePair, margin: usize) -> Option<Vec<f64>> {
    let power = |wave: &[f32]| -> f64 { wave.iter().map(|&x| f64::from(x).powi(2)).sum() };
    let count = hit.fixed.len();
    let moved = |shift: usize| {
        // Later by a frame reads what was a frame before.
        let from = 2 * margin - shift;
        hit.moved.get(from..from + count)
    };
    let fixed = power(&hit.fixed);
    let unmoved = power(moved(margin)?);
    let (soft, loud) = (fixed.min(unmoved), fixed.max(unmoved));
    if soft <= 10f64.powf(-RANGE_DB / 10.0) * loud {
        return None;
    }
    (0..=2 * margin)
        .map(|shift| {
            let wave = moved(shift)?;
            let pairs = hit.fixed.iter().zip(wave);
            let product: f64 = pairs.map(|(&a, &b)| f64::from(a) * f64::from(b)).sum();
            Some((1.0 + 2.0 * product / (fixed + power(wave))).max(1e-6))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: f64 = 4000.0;

    /// Two fading sines of one frequency, the bass at a phase of its own each hit.
    fn hits(hertz: f64, phases: &[f64]) -> LowWaves {
        let mut waves = LowWaves {
            rate_hz: RATE_HZ,
            hits: Vec::new(),
        };
        let margin = waves.margin() as f64;
        let wave = |first: f64, count: usize, phase: f64| -> Vec<f32> {
            let at = |n: usize| (n as f64 + first) / RATE_HZ;
            (0..count)
                .map(|n| ((std::f64::consts::TAU * hertz * at(n) - phase).sin()) as f32)
                .collect()
        };
        // Twelve periods of 80 Hz, so that no part of one is left over.
        for &phase in phases {
            waves.hits.push(WavePair {
                fixed: wave(0.0, 600, 0.0),
                moved: wave(-margin, 600 + 2 * margin as usize, phase),
            });
        }
        waves
    }

    #[test]
    fn a_bass_late_by_a_known_time_is_brought_forward() {
        // 3 ms late at 80 Hz are 86.4 degrees: 10 log10 (2 / (1 + cos 86.4)) = 2.75 dB.
        let phase = std::f64::consts::TAU * 80.0 * 0.003;
        let found = offset(&hits(80.0, &[phase; 12]), None);
        let Offset::Shift {
            delay_ms,
            gain_db,
            hits,
        } = found
        else {
            panic!("{found:?}")
        };
        assert!((delay_ms + 3.0).abs() < 1e-9 && hits == 12, "{found:?}");
        assert!((gain_db - 2.745).abs() < 0.01, "{found:?}");
    }

    #[test]
    fn what_a_turn_does_as_well_is_turned() {
        let opposite = hits(80.0, &[std::f64::consts::PI; 12]);
        let gain_db = 63.0;
        let turn = Polarity::Turn { gain_db, hits: 12 };
        assert_eq!(
            offset(&opposite, Some(turn)),
            Offset::TurnInstead { hits: 12 }
        );
        // At 120 degrees a turn gains 4.8 dB, a shift 6.0 dB: more by over 1 dB.
        let aside = hits(80.0, &[std::f64::consts::TAU / 3.0; 12]);
        let turn = Polarity::Turn {
            gain_db: 4.771,
            hits: 12,
        };
        assert!(matches!(offset(&aside, Some(turn)), Offset::Shift { .. }));
    }

    #[test]
    fn chance_few_hits_and_what_is_right_tell_nothing() {
        // Phases all around the circle by the golden angle.
        let spread: Vec<f64> = (0..24).map(|n| 2.399_963 * f64::from(n)).collect();
        let found = offset(&hits(80.0, &spread), None);
        assert_eq!(found, Offset::CannotTell { hits: 24 });
        let found = offset(&hits(80.0, &[1.5; 7]), None);
        assert_eq!(found, Offset::CannotTell { hits: 7 });
        let found = offset(&hits(80.0, &[0.1; 12]), None);
        assert_eq!(found, Offset::CannotTell { hits: 12 });
    }
}
