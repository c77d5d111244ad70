//! Kick and bass beside those of the reference, in the lows.

use crate::evidence::{Evidence, LowEndFacts, PassageFacts, Powers, ratio_db};
use crate::kinds::low_end::lows::{kick_free_slots, kick_slots, median};

/// Lows of the bass, whatever its notes.
const BASS_HZ: (f64, f64) = (38.0, 151.0);
/// Of both readings the smaller must reach this, dB.
const LEAST_DB: f64 = 1.5;

/// How far the lows of kick or bass are off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LowsOff {
    /// Mix less reference, dB: the middle of both readings below, where they agree on
    /// the direction, else 0. At equal loudness alone a loud kick would hide, because
    /// it is the loudness.
    pub(crate) off_db: f64,
    /// At equal loudness, dB.
    pub(crate) at_equal_loudness_db: f64,
    /// Against the other of kick and bass, dB.
    pub(crate) against_other_db: Option<f64>,
}

/// The kick's lows, against the reference's kick.
pub(crate) fn kick_off(evidence: &Evidence) -> Option<LowsOff> {
    evidence.reference.as_ref()?;
    Some(of(kick_db(evidence)?, bass_db(evidence)))
}

/// The bass at its note and octave, against the reference's bass at its own.
pub(crate) fn bass_off(evidence: &Evidence) -> Option<LowsOff> {
    evidence.reference.as_ref()?;
    Some(of(bass_db(evidence)?, kick_db(evidence)))
}

fn of(own_db: f64, other_db: Option<f64>) -> LowsOff {
    let against_other_db = other_db.map(|other_db| own_db - other_db);
    let off_db = match against_other_db {
        Some(beside) if beside * own_db <= 0.0 => 0.0,
        Some(beside) if beside.abs().min(own_db.abs()) < LEAST_DB => 0.0,
        Some(beside) => 0.5 * (beside + own_db),
        None => own_db,
    };
    LowsOff {
        off_db,
        at_equal_loudness_db: own_db,
        against_other_db,
    }
}

/// Only what the kick itself holds in the mix: a bass under it would fill what a weak
/// kick lacks.
fn kick_db(evidence: &Evidence) -> Option<f64> {
    let low_end = &evidence.low_end;
    let own = low_end.hits.iter().filter(|[kick, ..]| *kick > 0.0);
    let own = own.map(|[kick, _, both]| ratio_db(*kick, *both).min(0.0));
    let own_db = median(own.collect()).unwrap_or(0.0);
    let by_place = places_db(low_end, &["kick lows"]).map(|db| db + own_db);
    by_place.or_else(|| tracks_db(evidence, &low_end.kick, &kick_slots(low_end)))
}

/// The bass at its note, and what its tracks hold between the kicks: the middle of
/// both, for other sounds fill a place that a weak bass leaves empty.
fn bass_db(evidence: &Evidence) -> Option<f64> {
    let low_end = &evidence.low_end;
    let slots = evidence.passage.as_ref().map_or(0, |passage| passage.slots);
    let by_place = places_db(low_end, &["bass note", "octave"]);
    let by_tracks = tracks_db(evidence, &low_end.bass, &kick_free_slots(low_end, slots));
    match (by_place, by_tracks) {
        (Some(one), Some(other)) => Some(0.5 * (one + other)),
        (one, other) => one.or(other),
    }
}

/// Mix less reference of some places together, dB.
fn places_db(low_end: &LowEndFacts, names: &[&str]) -> Option<f64> {
    let power = |db: f64| 10f64.powf(db / 10.0);
    let (mut mix, mut reference) = (0.0, 0.0);
    for name in names {
        let place = low_end.places.iter().find(|place| place.name == *name)?;
        mix += power(place.mix_db?);
        reference += power(place.reference_db?);
    }
    Some(10.0 * (mix / reference).log10())
}

/// What some tracks hold in the lows in some sixteenths, less all of the reference's,
/// dB; `None` where either holds nothing.
fn tracks_db(evidence: &Evidence, tracks: &[usize], slots: &[usize]) -> Option<f64> {
    let passage = evidence.passage.as_ref()?;
    let reference = low_power(passage, passage.reference.as_ref()?, slots);
    let own: f64 = tracks
        .iter()
        .filter_map(|&track| passage.tracks.get(track))
        .map(|powers| low_power(passage, powers, slots))
        .sum();
    (own > 0.0 && reference > 0.0).then(|| ratio_db(own, reference))
}

fn low_power(passage: &PassageFacts, powers: &Powers, slots: &[usize]) -> f64 {
    let bands = passage.bands_within(BASS_HZ.0, BASS_HZ.1);
    let slots = slots.iter().filter(|slot| **slot < passage.slots);
    slots
        .map(|&slot| passage.in_slot(&powers.whole, &bands, slot))
        .sum()
}

#[cfg(test)]
pub(crate) mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::evidence::LowPlaceFacts;
    use crate::kinds::low_end::trial::{add, reference, session};

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
    fn both_readings_count_where_they_agree() {
        let kick = |kick_db, bass_db| kick_off(&off_by(kick_db, bass_db)).unwrap().off_db;
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        near(kick(6.0, 0.0), 6.0);
        near(kick(6.0, 2.0), 5.0);
        near(kick(6.0, 5.0), 0.0);
        near(kick(6.0, 7.0), 0.0);
        near(kick(-5.0, 1.0), -5.5);
        near(kick(-1.4, 9.0), 0.0);
        near(bass_off(&off_by(0.0, -4.0)).unwrap().off_db, -4.0);
    }

    #[test]
    fn a_bass_under_the_kick_is_not_the_kick() {
        let mut evidence = off_by(-4.0, 0.0);
        evidence.low_end.hits = vec![[0.5, 0.5, 1.0]; 16];
        let off_db = kick_off(&evidence).unwrap().off_db;
        assert!((off_db + 7.01).abs() < 0.01, "{off_db}");
    }

    #[test]
    fn a_weak_bass_is_not_filled_by_others() {
        let mut evidence = off_by(0.0, -2.0);
        let all: Vec<usize> = (0..16).collect();
        add(&mut evidence, 1, (40.0, 150.0), &all, ([0.1, 0.1], 0.0));
        add(&mut evidence, 2, (40.0, 150.0), &all, ([0.9, 0.9], 0.0));
        if let Some(passage) = &mut evidence.passage {
            passage.reference = Some(passage.mix.clone());
        }
        let off_db = bass_off(&evidence).unwrap().off_db;
        assert!((off_db + 6.0).abs() < 0.01, "{off_db}");
    }

    #[test]
    fn nothing_without_a_reference() {
        let mut evidence = off_by(6.0, 0.0);
        evidence.reference = None;
        assert_eq!(kick_off(&evidence), None);
    }
}
