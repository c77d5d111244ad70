//! Rules on made-up figures.
#![allow(clippy::unwrap_used)]

use cupel_units::Role::{Bass, ClosedHat, Kick, Lead, Pad, Shaker, Snare};

use super::*;
use crate::Grade::{Good, Look, Mend};
use crate::trial::{ALWAYS, FULL_HZ, Trial, told};

/// Left and right for a lean, of power 2 together.
fn leaning(db: f64) -> [f64; 2] {
    let ratio = 10f64.powf(db / 10.0);
    [2.0 / (1.0 + ratio), 2.0 * ratio / (1.0 + ratio)]
}

fn lead_leaning(db: f64) -> crate::Evidence {
    Trial::of(&[Kick, Bass, Lead, Snare])
        .play(0, (40.0, 200.0), ALWAYS, [2.0, 2.0], 1.0)
        .play(1, (40.0, 400.0), ALWAYS, [1.0, 1.0], 1.0)
        .play(2, (400.0, 4000.0), ALWAYS, leaning(db), 1.0)
        .play(3, (150.0, 8000.0), ALWAYS, [1.0, 1.0], 1.0)
        .done()
}

#[test]
fn a_lead_leans_from_two_decibels_on_and_is_mended_from_four() {
    assert!(element_lean::find(&lead_leaning(1.9)).is_empty());
    assert!(element_lean::find(&lead_leaning(-1.9)).is_empty());
    let evidence = lead_leaning(2.1);
    assert_eq!(
        told(&element_lean::find(&evidence)),
        [("element-lean", Look, vec!["t2"])]
    );
    let evidence = lead_leaning(-4.1);
    let found = element_lean::find(&evidence);
    assert_eq!(told(&found), [("element-lean", Mend, vec!["t2"])]);
    assert!(
        found[0].sentence.contains("leans 4.1 dB to the left"),
        "{}",
        found[0].sentence
    );
}

#[test]
fn a_lean_that_the_rest_of_the_file_does_not_share_is_chance() {
    let mut evidence = lead_leaning(5.0);
    evidence.tracks[2].file.summary.lean_db = Some(0.5);
    assert!(element_lean::find(&evidence).is_empty());
}

#[test]
fn four_bars_count_by_their_middle() {
    let mut evidence = lead_leaning(0.5);
    evidence.tracks[2].file.summary.lean_db = Some(3.0);
    evidence.elements[2].lean_by_four_bars_db = vec![0.5, 3.0, 3.2];
    assert_eq!(element_lean::find(&evidence).len(), 1);
    evidence.elements[2].lean_by_four_bars_db = vec![0.5, 9.0, 1.0];
    assert!(element_lean::find(&evidence).is_empty());
}

fn hats(hat_db: f64, shaker_db: f64) -> crate::Evidence {
    Trial::of(&[Kick, Snare, ClosedHat, Shaker])
        .play(0, (40.0, 200.0), ALWAYS, [2.0, 2.0], 1.0)
        .play(1, (150.0, 8000.0), ALWAYS, [1.0, 1.0], 1.0)
        .play(2, (5000.0, 16000.0), ALWAYS, leaning(hat_db), 1.0)
        .play(3, (5000.0, 16000.0), ALWAYS, leaning(shaker_db), 1.0)
        .done()
}

#[test]
fn hats_that_balance_each_other_are_level() {
    assert!(element_lean::find(&hats(6.0, -6.0)).is_empty());
    assert!(element_lean::find(&hats(6.0, -4.0)).is_empty());
    let evidence = hats(6.0, 0.0);
    assert_eq!(
        told(&element_lean::find(&evidence)),
        [("element-lean", Mend, vec!["t2"])]
    );
    // both to one side: nothing balances them
    assert_eq!(element_lean::find(&hats(3.0, 3.0)).len(), 2);
}

#[test]
fn where_everything_leans_it_is_the_mix_and_no_element() {
    let mut trial = Trial::of(&[Kick, Bass, Lead, Snare]);
    for track in 0..4 {
        trial = trial.play(track, FULL_HZ, ALWAYS, leaning(3.5), 1.0);
    }
    let evidence = trial.done();
    assert!(element_lean::find(&evidence).is_empty());
    let found = mix_lean::find(&evidence);
    assert_eq!(told(&found), [("mix-lean", Mend, vec![])]);
}

#[test]
fn the_mix_is_level_leans_or_tips_by_its_loudest_element() {
    assert_eq!(mix_lean::find(&lead_leaning(0.0))[0].grade, Good);
    let trial = |power: f64| {
        Trial::of(&[Kick, Bass, Lead])
            .play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
            .play(1, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
            .play(2, FULL_HZ, ALWAYS, [0.0, power], 1.0)
            .done()
    };
    // 10 log10((2 + p) / 2): 1.5 dB at p = 0.825, 3 dB at p = 1.991
    assert_eq!(mix_lean::find(&trial(0.81))[0].grade, Good);
    let evidence = trial(0.84);
    assert_eq!(
        told(&mix_lean::find(&evidence)),
        [("mix-lean", Look, vec!["t2"])]
    );
    let evidence = trial(2.01);
    assert_eq!(
        told(&mix_lean::find(&evidence)),
        [("mix-lean", Mend, vec!["t2"])]
    );
}

fn pair(left_db: f64, high_hz: f64) -> crate::Evidence {
    let gain = 10f64.powf(left_db / 10.0);
    Trial::of(&[Kick, Shaker, Shaker])
        .play(0, (40.0, 200.0), ALWAYS, [2.0, 2.0], 1.0)
        .play(
            1,
            (4000.0, 16000.0),
            ALWAYS,
            leaning(-8.0).map(|power| gain * power),
            1.0,
        )
        .play(2, (4000.0, high_hz), ALWAYS, leaning(8.0), 1.0)
        .done()
}

#[test]
fn halves_of_a_pair_may_differ_by_less_than_two_decibels() {
    assert!(lopsided_pair::find(&pair(1.9, 16000.0)).is_empty());
    let evidence = pair(2.1, 16000.0);
    assert_eq!(
        told(&lopsided_pair::find(&evidence)),
        [("lopsided-pair", Look, vec!["t1", "t2"])]
    );
    let evidence = pair(-4.1, 16000.0);
    assert_eq!(
        told(&lopsided_pair::find(&evidence)),
        [("lopsided-pair", Mend, vec!["t2", "t1"])]
    );
}

#[test]
fn two_that_do_not_mirror_or_sound_apart_are_no_pair() {
    let apart = Trial::of(&[Shaker, Shaker])
        .play(0, (200.0, 800.0), ALWAYS, leaning(-8.0), 1.0)
        .play(1, (4000.0, 16000.0), ALWAYS, [1.0, 9.0], 1.0)
        .done();
    assert!(lopsided_pair::find(&apart).is_empty());
    let same_side = Trial::of(&[Shaker, Shaker])
        .play(0, (4000.0, 16000.0), ALWAYS, leaning(8.0), 1.0)
        .play(
            1,
            (4000.0, 16000.0),
            ALWAYS,
            leaning(8.0).map(|power| 4.0 * power),
            1.0,
        )
        .done();
    assert!(lopsided_pair::find(&same_side).is_empty());
}

/// Alike that makes sides stand so far against the middle: (1 - r) / (1 + r) = q.
fn alike(width_db: f64) -> f64 {
    let q = 10f64.powf(width_db / 10.0);
    (1.0 - q) / (1.0 + q)
}

fn wide(own_db: f64, reference_db: f64) -> crate::Evidence {
    let reference = Trial::of(&[Pad])
        .play(0, (500.0, 2000.0), ALWAYS, [1.0, 1.0], alike(reference_db))
        .taken_as_reference()
        .done();
    let mut own = Trial::of(&[Pad])
        .play(0, (500.0, 2000.0), ALWAYS, [1.0, 1.0], alike(own_db))
        .done();
    own.reference = reference.reference;
    own.passage.as_mut().unwrap().reference = reference.passage.unwrap().reference;
    own
}

#[test]
fn width_counts_beyond_the_reference_and_what_is_usual() {
    // the usual ends at -6 and -14 dB
    assert!(width_band::find(&wide(-3.1, -8.0)).is_empty());
    assert_eq!(width_band::find(&wide(-2.9, -8.0))[0].grade, Look);
    assert_eq!(width_band::find(&wide(0.1, -8.0))[0].grade, Mend);
    assert_eq!(width_band::find(&wide(-17.1, -12.0))[0].grade, Look);
    assert_eq!(width_band::find(&wide(-20.1, -12.0))[0].grade, Mend);
    // within what is usual, but 4 dB and the limit off the reference
    assert!(width_band::find(&wide(-6.5, -13.4)).is_empty());
    assert_eq!(width_band::find(&wide(-6.3, -13.4))[0].grade, Look);
    // a reference in mono says nothing
    assert!(width_band::find(&wide(-9.5, -40.0)).is_empty());
    // a reference as wide, or as narrow, is reason enough
    assert!(width_band::find(&wide(-1.0, -2.0)).is_empty());
    assert!(width_band::find(&wide(-25.0, -24.0)).is_empty());
}

fn correlated(correlation: f64) -> crate::Evidence {
    let mut evidence = lead_leaning(0.0);
    evidence.tracks[2].file.summary.correlation = Some(correlation);
    evidence.tracks[2].in_passage.as_mut().unwrap().correlation = Some(correlation);
    evidence
}

#[test]
fn sides_that_cancel_are_found_below_zero() {
    assert!(negative_correlation::find(&correlated(0.0)).is_empty());
    assert!(negative_correlation::find(&correlated(-0.02)).is_empty());
    let evidence = correlated(-0.1);
    let found = negative_correlation::find(&evidence);
    assert_eq!(told(&found), [("negative-correlation", Look, vec!["t2"])]);
    let evidence = correlated(-0.31);
    assert_eq!(negative_correlation::find(&evidence)[0].grade, Mend);
    // 10 log10(2 / (1 - 0.5)) = 6.0 dB
    let evidence = correlated(-0.5);
    assert!(
        negative_correlation::find(&evidence)[0]
            .sentence
            .contains("6 dB")
    );
}

#[test]
fn a_passage_of_few_notes_makes_no_negative_correlation() {
    let mut evidence = correlated(-0.4);
    evidence.tracks[2].file.summary.correlation = Some(0.3);
    assert!(negative_correlation::find(&evidence).is_empty());
}

#[test]
fn core_elements_may_lose_less_than_three_decibels_in_mono() {
    let lead = |alike: f64, role| {
        Trial::of(&[Kick, role])
            .play(0, (40.0, 200.0), ALWAYS, [2.0, 2.0], 1.0)
            .play(1, (400.0, 4000.0), ALWAYS, [1.0, 1.0], alike)
            .done()
    };
    // (1 + r) / 2 of the power remains: 3.01 dB at r = 0, 5 dB at r = -0.368
    assert!(mono_loss::find(&lead(0.01, Lead)).is_empty());
    let evidence = lead(-0.01, Lead);
    assert_eq!(
        told(&mono_loss::find(&evidence)),
        [("mono-loss", Look, vec!["t1"])]
    );
    assert_eq!(mono_loss::find(&lead(-0.38, Lead))[0].grade, Mend);
    assert!(mono_loss::find(&lead(-0.9, Pad)).is_empty());
}

#[test]
fn a_core_that_stays_in_mono_is_praised() {
    let found = mono_loss::find(&lead_leaning(0.0));
    assert_eq!(told(&found), [("mono-loss", Good, vec![])]);
    assert!(
        found[0]
            .sentence
            .contains("kick, bass, lead and snare lose at most 0.0 dB")
    );
}

#[test]
fn an_octave_may_lose_what_the_reference_loses() {
    let mix = |alike: f64| {
        Trial::of(&[Kick, Pad])
            .play(0, (40.0, 200.0), ALWAYS, [1.0, 1.0], 1.0)
            .play(1, (500.0, 1000.0), ALWAYS, [1.0, 1.0], alike)
    };
    assert!(mono_loss_band::find(&mix(0.01).done()).is_empty());
    let evidence = mix(-0.4).done();
    assert_eq!(
        told(&mono_loss_band::find(&evidence)),
        [("mono-loss-band", Mend, vec!["t1"])]
    );
    assert!(mono_loss_band::find(&mix(-0.4).taken_as_reference().done()).is_empty());
}
