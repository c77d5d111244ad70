//! Moves in steps that a hand can set.

use cupel_units::round_to_step;

use crate::{At, Move, Parameters};

/// Gains below this are not worth a hand, in decibels; not at the low end.
const LEAST_DB: f64 = 1.0;
const STEP_DB: f64 = 0.5;
const LOW_END_STEP_DB: f64 = 0.1;
/// Smallest step of a pan: 5 percent of a side.
const PAN_STEP: f64 = 0.05;

/// The move in steps that a hand can set, or `None` if nothing is left of it.
///
/// Gains go to 0.5 dB and are dropped under 1 dB; with `is_low_end` (kick and
/// bass), and for the common trim, they go to 0.1 dB and only nothing is
/// dropped. Pans go to 5 percent, low cuts to 1 Hz below 100 Hz, 5 Hz below
/// 1 kHz and 50 Hz above. Polarity and offset stay as they are.
pub fn round_for_hand(step: &Move, is_low_end: bool) -> Option<Move> {
    let mut rounded = step.clone();
    rounded.parameters = match step.parameters {
        Parameters::Trim { gain_db } => Parameters::Trim {
            gain_db: round_gain(gain_db, true),
        },
        Parameters::Fader { gain_db } => Parameters::Fader {
            gain_db: round_gain(gain_db, is_low_end),
        },
        Parameters::Pan { position, .. } => round_pan(&step.parameters, position),
        Parameters::LowCut {
            cutoff_hz,
            slope_db_per_octave,
        } => Parameters::LowCut {
            cutoff_hz: round_cutoff(cutoff_hz),
            slope_db_per_octave,
        },
        unchanged @ (Parameters::Polarity {} | Parameters::Offset(_)) => unchanged,
    };
    if let Some(At::Breakpoints(points)) = &mut rounded.at {
        for point in points {
            point.gain_db = round_gain(point.gain_db, is_low_end);
        }
    }
    does_something(&rounded).then_some(rounded)
}

fn round_gain(gain_db: f64, is_low_end: bool) -> f64 {
    if is_low_end {
        round_to_step(gain_db, LOW_END_STEP_DB) + 0.0
    } else if gain_db.abs() < LEAST_DB {
        0.0
    } else {
        round_to_step(gain_db, STEP_DB)
    }
}

fn round_pan(given: &Parameters, position: f64) -> Parameters {
    let position = round_to_step(position, PAN_STEP) + 0.0;
    match given.pan_law() {
        Some(law) => Parameters::pan(position, law),
        None => Parameters::Pan {
            position,
            left_db: None,
            right_db: None,
        },
    }
}

fn round_cutoff(cutoff_hz: f64) -> f64 {
    let step_hz = match cutoff_hz {
        below if below < 100.0 => 1.0,
        below if below < 1000.0 => 5.0,
        _ => 50.0,
    };
    (cutoff_hz / step_hz).round() * step_hz
}

fn does_something(step: &Move) -> bool {
    let moving = match &step.at {
        Some(At::Breakpoints(points)) => points.iter().any(|point| point.gain_db != 0.0),
        _ => false,
    };
    moving
        || match step.parameters {
            Parameters::Trim { gain_db } | Parameters::Fader { gain_db } => gain_db != 0.0,
            Parameters::Pan { position, .. } => position != 0.0,
            _ => true,
        }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Breakpoint, By, PanLaw, Target};

    fn fader(gain_db: f64) -> Move {
        let target = Target::Track("lead".into());
        Move::new(target, Parameters::Fader { gain_db }, By::Cupel, "rest", "")
    }

    fn check(gain_db: f64, is_low_end: bool, expected: Option<f64>) {
        let rounded = round_for_hand(&fader(gain_db), is_low_end);
        assert_eq!(
            rounded.and_then(|step| step.parameters.gain_db()),
            expected,
            "{gain_db}"
        );
    }

    #[test]
    fn gains_in_half_decibels_from_one_up() {
        check(0.99, false, None);
        check(-0.6, false, None);
        check(1.0, false, Some(1.0));
        check(1.26, false, Some(1.5));
        check(-2.2, false, Some(-2.0));
    }

    #[test]
    fn low_end_in_tenths() {
        check(0.34, true, Some(0.3));
        check(-1.26, true, Some(-1.3));
        check(0.04, true, None);
    }

    #[test]
    fn pans_keep_their_law() {
        let target = Target::Track("shaker".into());
        let parameters = Parameters::pan(-0.21, PanLaw::Mono);
        let step = Move::new(target, parameters, By::Cupel, "lean", "");
        let rounded = round_for_hand(&step, false).unwrap();
        assert_eq!(rounded.parameters, Parameters::pan(-0.2, PanLaw::Mono));
        let small = Move {
            parameters: Parameters::pan(0.02, PanLaw::Mono),
            ..step
        };
        assert_eq!(round_for_hand(&small, false), None);
    }

    #[test]
    fn breakpoints_are_rounded_too() {
        let mut step = fader(0.0);
        let points = [(1.0, 0.4), (2.0, -2.3)];
        let points = points.map(|(time_s, gain_db)| Breakpoint { time_s, gain_db });
        step.at = Some(At::Breakpoints(points.to_vec()));
        let Some(At::Breakpoints(points)) = round_for_hand(&step, false).unwrap().at else {
            panic!("breakpoints went");
        };
        assert_eq!((points[0].gain_db, points[1].gain_db), (0.0, -2.5));
    }
}
