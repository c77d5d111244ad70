//! What a pan does to left and right, in decibels, for people.

use cupel_units::amplitude_to_db;

use crate::Parameters;

/// How a track is panned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PanLaw {
    /// A mono file: sine-cosine law with 0 dB at the centre.
    Mono,
    /// A stereo file: the opposite side falls with the cosine of the position.
    Stereo,
}

impl PanLaw {
    /// Change of the left and the right side at a position from -1 to 1, in
    /// decibels; `None` where a side falls silent.
    pub fn sides_db(self, position: f64) -> (Option<f64>, Option<f64>) {
        use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, SQRT_2};
        let (left, right) = match self {
            Self::Mono if position != 0.0 => {
                let angle = (position + 1.0) * FRAC_PI_4;
                (SQRT_2 * angle.cos(), SQRT_2 * angle.sin())
            }
            Self::Stereo if position > 0.0 => ((position * FRAC_PI_2).cos(), 1.0),
            Self::Stereo if position < 0.0 => (1.0, (position * FRAC_PI_2).cos()),
            _ => (1.0, 1.0),
        };
        (side_db(left), side_db(right))
    }
}

fn side_db(amplitude: f64) -> Option<f64> {
    (amplitude > 1e-9).then(|| amplitude_to_db(amplitude))
}

impl Parameters {
    /// A pan, with what it does to both sides in steps of 0.01 dB.
    pub fn pan(position: f64, law: PanLaw) -> Self {
        let round = |db: f64| (db * 100.0).round() / 100.0 + 0.0;
        let (left_db, right_db) = law.sides_db(position);
        Self::Pan {
            position,
            left_db: left_db.map(round),
            right_db: right_db.map(round),
        }
    }

    /// The law by which the sides of a pan were computed; `None` if they are
    /// absent, or do not fit the position because that was edited since.
    pub fn pan_law(&self) -> Option<PanLaw> {
        let Self::Pan {
            position,
            left_db,
            right_db,
        } = *self
        else {
            return None;
        };
        if left_db.is_none() && right_db.is_none() {
            return None;
        }
        let near = |given: Option<f64>, wanted: Option<f64>| match (given, wanted) {
            (Some(given), Some(wanted)) => (given - wanted).abs() < 0.06,
            (given, wanted) => given == wanted,
        };
        [PanLaw::Mono, PanLaw::Stereo].into_iter().find(|law| {
            let (left, right) = law.sides_db(position);
            near(left_db, left) && near(right_db, right)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(law: PanLaw, position: f64, left_db: Option<f64>, right_db: Option<f64>) {
        let expected = Parameters::Pan {
            position,
            left_db,
            right_db,
        };
        assert_eq!(Parameters::pan(position, law), expected);
    }

    /// By hand: sqrt 2 cos 36 degrees = 1.1441 is 1.17 dB, sqrt 2 sin 36 degrees
    /// = 0.8313 is -1.61 dB; cos 45 degrees is -3.01 dB, sqrt 2 is 3.01 dB.
    #[test]
    fn sides_by_both_laws() {
        check(PanLaw::Mono, -0.2, Some(1.17), Some(-1.61));
        check(PanLaw::Mono, 0.0, Some(0.0), Some(0.0));
        check(PanLaw::Mono, 1.0, None, Some(3.01));
        check(PanLaw::Stereo, 0.5, Some(-3.01), Some(0.0));
        check(PanLaw::Stereo, -1.0, Some(0.0), None);
    }

    #[test]
    fn law_is_known_again_unless_the_position_was_edited() {
        assert_eq!(
            Parameters::pan(-0.2, PanLaw::Mono).pan_law(),
            Some(PanLaw::Mono)
        );
        assert_eq!(
            Parameters::pan(0.3, PanLaw::Stereo).pan_law(),
            Some(PanLaw::Stereo)
        );
        let edited = Parameters::Pan {
            position: -0.4,
            left_db: Some(1.17),
            right_db: Some(-1.61),
        };
        assert_eq!(edited.pan_law(), None);
    }
}
