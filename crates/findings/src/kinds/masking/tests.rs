//! Rules on made-up figures.

use cupel_units::Role::{Effects, Kick, Lead, Pad, Piano, Voice};

use super::*;
use crate::Grade::{Good, Look, Mend};
use crate::trial::{ALWAYS, Trial, told};

/// A lead so far under a pad in its only octave, in some of its sixteenths.
fn under(
    lead_db: f64,
    covered: std::ops::Range<usize>,
    role: cupel_units::Role,
) -> crate::Evidence {
    let power = 10f64.powf(lead_db / 10.0);
    Trial::of(&[role, Pad])
        .play(0, (500.0, 1000.0), ALWAYS, [power, power], 1.0)
        .play(1, (500.0, 1000.0), covered, [1.0, 1.0], 1.0)
        .done()
}

#[test]
fn a_lead_is_hidden_from_seven_decibels_under_on() {
    // 5.5 dB is where noise hides a tone; 1.5 and 3 dB more are asked
    assert!(hidden::find(&under(-6.9, ALWAYS, Lead)).is_empty());
    let evidence = under(-7.1, ALWAYS, Lead);
    let found = hidden::find(&evidence);
    assert_eq!(told(&found), [("hidden", Look, vec!["t0"])]);
    assert!(
        found[0].sentence.contains("covered mostly by the pad"),
        "{}",
        found[0].sentence
    );
    assert_eq!(hidden::find(&under(-8.6, ALWAYS, Lead))[0].grade, Mend);
}

#[test]
fn half_of_its_sixteenths_may_be_covered() {
    assert!(hidden::find(&under(-12.0, 0..8, Lead)).is_empty());
    assert_eq!(hidden::find(&under(-12.0, 0..9, Lead)).len(), 1);
}

#[test]
fn what_carries_nothing_need_only_be_heard_somewhere() {
    assert!(hidden::find(&under(-12.0, 0..15, Piano)).is_empty());
    let evidence = under(-12.0, ALWAYS, Piano);
    assert_eq!(
        told(&hidden::find(&evidence)),
        [("hidden", Look, vec!["t0"])]
    );
    assert!(hidden::find(&under(-12.0, ALWAYS, Effects)).is_empty());
}

#[test]
fn three_core_elements_that_are_heard_are_praised() {
    let with = |lead: f64| {
        Trial::of(&[Lead, Kick, Voice, Pad])
            .play(0, (500.0, 1000.0), ALWAYS, [lead, lead], 1.0)
            .play(1, (40.0, 100.0), ALWAYS, [1.0, 1.0], 1.0)
            .play(2, (2000.0, 4000.0), ALWAYS, [1.0, 1.0], 1.0)
            .play(3, (500.0, 1000.0), 0..6, [1.0, 1.0], 1.0)
            .done()
    };
    let evidence = with(1.0);
    let found = hidden::find(&evidence);
    assert_eq!(told(&found), [("hidden", Good, vec![])]);
    assert!(
        found[0].sentence.contains("lead, kick and voice"),
        "{}",
        found[0].sentence
    );
    // 10 of 16 are no praise and no blame
    assert!(hidden::find(&with(0.05)).is_empty());
}
