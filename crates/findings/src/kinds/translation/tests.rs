//! Rules on made-up figures.
#![allow(clippy::unwrap_used)]

use cupel_harmony::Note;
use cupel_units::Role::{Bass, Kick, Lead, Pad, Snare, Sub};

use super::*;
use crate::Grade::{Look, Mend};
use crate::trial::{ALWAYS, FULL_HZ, Trial, told};

/// A bass with so little over 180 Hz against a snare that fills it, dB.
fn bass(db: f64) -> crate::Evidence {
    // 20 third octaves lie over 180 Hz
    let power = 10f64.powf(db / 10.0);
    Trial::of(&[Kick, Bass, Snare])
        .play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
        .play(1, (40.0, 100.0), ALWAYS, [4.0, 4.0], 1.0)
        .play(1, (190.0, 16_500.0), ALWAYS, [power, power], 1.0)
        .done()
}

#[test]
fn a_bass_falls_out_from_twenty_one_decibels_under_on() {
    assert!(small_speaker::find(&bass(-20.8)).is_empty());
    let evidence = bass(-21.2);
    let found = small_speaker::find(&evidence);
    assert_eq!(told(&found), [("small-speaker", Look, vec!["t1"])]);
    assert!(
        found[0].sentence.contains("bass line falls out"),
        "{}",
        found[0].sentence
    );
}

#[test]
fn a_sub_under_a_bass_that_is_heard_is_right() {
    let evidence = Trial::of(&[Kick, Bass, Sub])
        .play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
        .play(1, (100.0, 1000.0), ALWAYS, [1.0, 1.0], 1.0)
        .play(2, (40.0, 60.0), ALWAYS, [9.0, 9.0], 1.0)
        .done();
    assert!(small_speaker::find(&evidence).is_empty());
}

#[test]
fn a_lead_that_cancels_is_lost_on_a_phone() {
    let lead = |alike: f64| {
        Trial::of(&[Pad, Lead])
            .play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
            .play(1, (1000.0, 4000.0), ALWAYS, [1.0, 1.0], alike)
            .done()
    };
    assert!(phone::find(&lead(0.0)).is_empty());
    let evidence = lead(-0.99);
    assert_eq!(told(&phone::find(&evidence)), [("phone", Look, vec!["t1"])]);
}

#[test]
fn of_a_bass_a_trace_must_be_left_on_a_phone() {
    assert!(phone::find(&bass(-32.8)).is_empty());
    let evidence = bass(-33.2);
    assert_eq!(told(&phone::find(&evidence)), [("phone", Look, vec!["t1"])]);
}

#[test]
fn the_lowest_octave_may_differ_by_less_than_four_decibels() {
    let lows = |db: f64| {
        let reference = Trial::of(&[Kick]).play(0, (20.0, 90.0), ALWAYS, [1.0, 1.0], 1.0);
        let reference = reference.taken_as_reference().done();
        let power = 10f64.powf(db / 10.0);
        let own = Trial::of(&[Kick]).play(0, (20.0, 90.0), ALWAYS, [power, power], 1.0);
        let mut own = own.done();
        own.reference = reference.reference;
        own.passage.as_mut().unwrap().reference = reference.passage.unwrap().reference;
        own
    };
    assert!(club_lows::find(&lows(3.9)).is_empty());
    assert!(club_lows::find(&lows(-3.9)).is_empty());
    assert_eq!(club_lows::find(&lows(4.1))[0].grade, Look);
    let evidence = lows(-8.1);
    assert_eq!(
        told(&club_lows::find(&evidence)),
        [("club-lows", Mend, vec!["t0"])]
    );
    assert!(
        club_lows::find(&evidence)[0]
            .sentence
            .contains("8.1 dB less")
    );
    // lines in other octaves: other notes lie there
    let mut evidence = evidence;
    let note = |midi| Note {
        start_s: 0.0,
        end_s: 1.0,
        midi,
        name: String::new(),
        cents_off: 0.0,
        level_db: -10.0,
        sure: 1.0,
    };
    evidence.mix.as_mut().unwrap().bass = vec![note(40)];
    evidence.reference.as_mut().unwrap().bass = vec![note(36)];
    assert_eq!(club_lows::find(&evidence)[0].grade, Mend);
    evidence.reference.as_mut().unwrap().bass = vec![note(35)];
    assert_eq!(club_lows::find(&evidence)[0].grade, Look);
}
