//! Both sides of each limit, and what must not be found.
#![allow(clippy::unwrap_used)]

use cupel_traits::Decay;
use cupel_units::Role;

use super::*;
use crate::evidence::Evidence;
use crate::kind::Grade;
use crate::kinds::low_end::trial::session;

fn decay(seconds: f64, drop_db: f64, low_part_db: f64) -> Decay {
    Decay {
        seconds,
        below_120_s: None,
        level_lu: -8.0,
        drop_db,
        low_part_db: Some(low_part_db),
        gaps: 20,
        spread: 0.05,
    }
}

/// Hits in two of sixteen sixteenths and a room of `wet_db` after them, in all bands
/// between two frequencies.
fn with_room(evidence: &mut Evidence, track: usize, band_hz: (f64, f64), wet_db: f64) {
    let passage = evidence.passage.as_mut().unwrap();
    let wet = 10f64.powf(0.1 * wet_db);
    for band in passage.bands_within(band_hz.0, band_hz.1) {
        for slot in 0..passage.slots {
            let cell = band * passage.slots + slot;
            let dry = if slot % 8 == 4 { 1.0 } else { 0.0 };
            // two hits, fourteen slots of room
            let room = if slot % 8 == 4 { 0.0 } else { 2.0 * wet / 14.0 };
            passage.tracks[track].whole[cell] = dry + room;
            passage.tracks[track].side[cell] = 0.5 * room;
        }
    }
}

#[test]
fn a_long_room_is_told_from_a_long_sound() {
    let mut evidence = session(&[Role::Clap, Role::OpenHat, Role::Kick]);
    let mut with = |decay: Decay| {
        evidence.tracks[0].file.traits.decay = Some(decay);
        let found = room_long::find(&evidence);
        found
            .iter()
            .map(|finding| finding.grade)
            .collect::<Vec<_>>()
    };
    assert!(with(decay(0.6, 8.0, -20.0)).is_empty());
    assert_eq!(with(decay(1.0, 8.0, -20.0)), [Grade::Look]);
    assert_eq!(with(decay(1.4, 8.0, -20.0)), [Grade::Mend]);
    // one line from the hit on, or a body of lows, is the sound itself
    assert!(with(decay(1.4, 1.0, -20.0)).is_empty());
    assert!(with(decay(1.4, 8.0, -1.0)).is_empty());
    for place in [1, 2] {
        evidence.tracks[0].file.traits.decay = None;
        evidence.tracks[place].file.traits.decay = Some(decay(1.4, 8.0, -20.0));
        assert!(room_long::find(&evidence).is_empty());
    }
}

#[test]
fn the_level_of_a_room_is_read_from_its_sides() {
    for (wet_db, grade) in [
        (-14.0, None),
        (-11.0, Some(Grade::Look)),
        (-6.0, Some(Grade::Mend)),
    ] {
        let mut evidence = session(&[Role::Clap, Role::Kick]);
        evidence.tracks[0].file.traits.decay = Some(decay(0.6, 3.0, -20.0));
        with_room(&mut evidence, 0, (250.0, 16_000.0), wet_db);
        let found = room_loud::find(&evidence);
        assert_eq!(
            found.first().map(|finding| finding.grade),
            grade,
            "{wet_db}"
        );
        if let Some(finding) = found.first() {
            assert!((finding.value - wet_db).abs() < 0.1, "{finding:?}");
        }
    }
    // a room as loud as the hits stands in them as well, and is still one
    let mut evidence = session(&[Role::Clap]);
    evidence.tracks[0].file.traits.decay = Some(decay(0.6, 3.0, -20.0));
    with_room(&mut evidence, 0, (250.0, 16_000.0), -3.0);
    let passage = evidence.passage.as_mut().unwrap();
    let powers = &mut passage.tracks[0];
    let cells = powers.whole.iter().zip(&mut powers.side);
    cells.for_each(|(whole, side)| *side = side.max(0.3 * whole));
    assert_eq!(room_loud::find(&evidence)[0].grade, Grade::Mend);
    // what only leans to one side is no room
    let mut evidence = session(&[Role::Clap]);
    evidence.tracks[0].file.traits.decay = Some(decay(0.6, 3.0, -20.0));
    with_room(&mut evidence, 0, (250.0, 16_000.0), -14.0);
    let passage = evidence.passage.as_mut().unwrap();
    // hits 12 dB to the left: the side is (1 - 0.25)^2 / 4 of (1 + 0.25^2) / 2
    let leans = 0.5 * 0.75f64.powi(2) / 1.0625;
    let powers = &mut passage.tracks[0];
    let cells = powers.whole.iter().zip(&mut powers.side);
    cells
        .filter(|(whole, _)| **whole >= 1.0)
        .for_each(|(whole, side)| *side = leans * whole);
    assert!(!room_loud::find(&evidence).is_empty(), "taken for a room");
    let passage = evidence.passage.as_mut().unwrap();
    passage.track_sides[0].fill([1.0, 0.0625]);
    assert!(room_loud::find(&evidence).is_empty());
    // a sound that is as wide in its hits as after them has no room
    let mut evidence = session(&[Role::Clap]);
    evidence.tracks[0].file.traits.decay = Some(decay(0.6, 3.0, -20.0));
    with_room(&mut evidence, 0, (250.0, 16_000.0), -3.0);
    let passage = evidence.passage.as_mut().unwrap();
    let powers = &mut passage.tracks[0];
    powers.side = powers.whole.iter().map(|power| 0.4 * power).collect();
    assert!(room_loud::find(&evidence).is_empty());
}

#[test]
fn lows_of_a_room_belong_to_drums_that_own_lows() {
    for (wet_db, count) in [(-20.0, 0), (-14.0, 1), (-6.0, 1)] {
        let mut evidence = session(&[Role::Kick, Role::Clap]);
        with_room(&mut evidence, 0, (20.0, 120.0), wet_db);
        with_room(&mut evidence, 1, (20.0, 120.0), wet_db);
        let found = room_lows::find(&evidence);
        assert_eq!(found.len(), count, "{wet_db}");
        assert!(found.iter().all(|finding| finding.tracks == ["t0"]));
    }
    // a drum without lows: what is left of them says nothing
    let mut evidence = session(&[Role::Tom]);
    with_room(&mut evidence, 0, (20.0, 120.0), -6.0);
    assert_eq!(room_lows::find(&evidence).len(), 1);
    let passage = evidence.passage.as_mut().unwrap();
    for band in passage.bands_within(250.0, 16_000.0) {
        let cells = band * passage.slots..(band + 1) * passage.slots;
        passage.tracks[0].whole[cells].fill(20.0);
    }
    assert!(room_lows::find(&evidence).is_empty());
}

#[test]
fn one_room_among_others_of_another_length() {
    let mut evidence = session(&[Role::Clap, Role::Snare, Role::Tom]);
    for (place, seconds) in [(1, 0.45), (2, 0.5)] {
        evidence.tracks[place].file.traits.decay = Some(decay(seconds, 5.0, -20.0));
    }
    for (seconds, count) in [(0.8, 0), (1.2, 1), (2.0, 1)] {
        evidence.tracks[0].file.traits.decay = Some(decay(seconds, 8.0, -20.0));
        assert_eq!(other_room::find(&evidence).len(), count, "{seconds}");
    }
    // others that ring by themselves do not hide it: the shortest tells, and a tail as
    // long as a bell's tells nothing
    evidence.tracks[0].file.traits.decay = Some(decay(1.4, 8.0, -20.0));
    evidence.tracks[2].file.traits.decay = Some(decay(1.3, 8.0, -20.0));
    let named = |evidence: &Evidence| -> Vec<String> {
        let found = other_room::find(evidence);
        found.into_iter().flat_map(|f| f.tracks).collect()
    };
    assert_eq!(named(&evidence), ["t0", "t2"]);
    for place in [1, 2] {
        evidence.tracks[place].file.traits.decay = Some(decay(1.6, 2.0, -20.0));
    }
    evidence.tracks[0].file.traits.decay = Some(decay(3.6, 8.0, -20.0));
    assert!(named(&evidence).is_empty());
    // nothing to compare with
    evidence.tracks.truncate(1);
    assert!(other_room::find(&evidence).is_empty());
}

#[test]
fn dry_only_where_nothing_has_a_room() {
    let roles = [
        Role::Clap,
        Role::Snare,
        Role::Chords,
        Role::Lead,
        Role::Voice,
        Role::Kick,
    ];
    let mut evidence = session(&roles);
    assert_eq!(no_room::find(&evidence).len(), 1);
    with_room(&mut evidence, 3, (250.0, 16_000.0), -15.0);
    assert!(no_room::find(&evidence).is_empty());
    assert!(no_room::find(&session(&roles[..4])).is_empty());
}

#[test]
fn sounds_that_are_wide_by_themselves_are_dry_where_they_do_not_grow_wider() {
    let roles = [
        Role::Clap,
        Role::Snare,
        Role::Chords,
        Role::Lead,
        Role::Voice,
    ];
    // hits that die away over four sixteenths, wide from the first on
    let mut evidence = session(&roles);
    let passage = evidence.passage.as_mut().unwrap();
    let own = 0.08;
    for band in passage.bands_within(250.0, 16_000.0) {
        for slot in 0..passage.slots {
            let cell = band * passage.slots + slot;
            let fallen = [1.0, 0.04, 0.002, 1e-5][slot % 4];
            for track in &mut passage.tracks[..2] {
                track.whole[cell] = fallen;
                track.side[cell] = own * fallen;
            }
            for track in &mut passage.tracks[2..4] {
                track.whole[cell] = 1.0;
                track.side[cell] = 0.25;
            }
        }
    }
    assert_eq!(no_room::find(&evidence).len(), 1);
    // the snare grows wider as it dies away
    let passage = evidence.passage.as_mut().unwrap();
    let powers = &mut passage.tracks[1];
    let cells = powers.whole.iter().zip(&mut powers.side);
    cells
        .filter(|(whole, _)| **whole < 0.5)
        .for_each(|(whole, side)| *side = 0.3 * whole);
    assert!(no_room::find(&evidence).is_empty());
    // nothing is struck, and all is wide: nothing tells
    let music = [
        Role::Chords,
        Role::Lead,
        Role::Piano,
        Role::Pluck,
        Role::Voice,
    ];
    let mut evidence = session(&music);
    let passage = evidence.passage.as_mut().unwrap();
    for powers in &mut passage.tracks {
        powers.whole.fill(1.0);
        powers.side.fill(0.25);
    }
    assert!(no_room::find(&evidence).is_empty());
}
