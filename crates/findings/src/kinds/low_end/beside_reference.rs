//! Kick and bass beside those of the reference, in the lows.

use crate::evidence::{Evidence, LowEndFacts};

/// How far the lows of kick or bass are off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LowsOff {
    /// Mix less reference, dB: the smaller of both readings below, where they agree
    /// on the direction, else 0.
    pub(crate) off_db: f64,
    /// At equal loudness, dB.
    pub(crate) at_equal_loudness_db: f64,
    /// Against the other of kick and bass, dB.
    pub(crate) against_other_db: Option<f64>,
}

/// The kick's lows, against the reference's kick.
pub(crate) fn kick_off(evidence: &Evidence) -> Option<LowsOff> {
    let low_end = held_against_a_song(evidence)?;
    let kick = kick_db(low_end)?;
    Some(of(kick, bass_db(low_end)))
}

/// The bass at its note and octave, against the reference's bass at its own.
pub(crate) fn bass_off(evidence: &Evidence) -> Option<LowsOff> {
    let low_end = held_against_a_song(evidence)?;
    let bass = bass_db(low_end)?;
    Some(of(bass, kick_db(low_end)))
}

/// The mix against itself, mastered, is no comparison of songs, and of use all the
/// same; without a reference there is none.
fn held_against_a_song(evidence: &Evidence) -> Option<&LowEndFacts> {
    evidence.reference.as_ref().map(|_| &evidence.low_end)
}

fn of(own_db: f64, other_db: Option<f64>) -> LowsOff {
    let against_other_db = other_db.map(|other_db| own_db - other_db);
    let off_db = match against_other_db {
        Some(beside) if beside * own_db <= 0.0 => 0.0,
        Some(beside) if beside.abs() < own_db.abs() => beside,
        _ => own_db,
    };
    LowsOff {
        off_db,
        at_equal_loudness_db: own_db,
        against_other_db,
    }
}

fn kick_db(low_end: &LowEndFacts) -> Option<f64> {
    difference_db(low_end, &["kick lows"])
}

fn bass_db(low_end: &LowEndFacts) -> Option<f64> {
    difference_db(low_end, &["bass note", "octave"])
}

/// Mix less reference of some places together, dB.
fn difference_db(low_end: &LowEndFacts, names: &[&str]) -> Option<f64> {
    let power = |db: f64| 10f64.powf(db / 10.0);
    let (mut mix, mut reference) = (0.0, 0.0);
    for name in names {
        let place = low_end.places.iter().find(|place| place.name == *name)?;
        mix += power(place.mix_db?);
        reference += power(place.reference_db?);
    }
    Some(10.0 * (mix / reference).log10())
}

#[cfg(test)]
pub(crate) mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::evidence::LowPlaceFacts;
    use crate::kinds::low_end::trial::{reference, session};

    /// A session whose kick and bass are so far over the reference's.
    pub(crate) fn off_by(kick_db: f64, bass_db: f64) -> Evidence {
        let mut evidence = session(&[Role::Kick, Role::Bass, Role::Lead]);
        evidence.reference = Some(reference());
        let place = |name: &str, off_db: f64| LowPlaceFacts {
            name: name.into(),
            of_kick: name.starts_with("kick"),
            mix_db: Some(-20.0 + off_db),
            reference_db: Some(-20.0),
        };
        evidence.low_end.places = vec![
            place("bass note", bass_db),
            place("octave", bass_db),
            place("kick lows", kick_db),
        ];
        evidence
    }

    #[test]
    fn the_smaller_reading_counts() {
        let kick = |kick_db, bass_db| kick_off(&off_by(kick_db, bass_db)).unwrap().off_db;
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        near(kick(6.0, 0.0), 6.0);
        near(kick(6.0, 2.0), 4.0);
        near(kick(6.0, 7.0), 0.0);
        near(kick(-5.0, 1.0), -5.0);
        near(bass_off(&off_by(1.0, -4.0)).unwrap().off_db, -4.0);
    }

    #[test]
    fn nothing_without_a_reference() {
        let mut evidence = off_by(6.0, 0.0);
        evidence.reference = None;
        assert_eq!(kick_off(&evidence), None);
    }
}
