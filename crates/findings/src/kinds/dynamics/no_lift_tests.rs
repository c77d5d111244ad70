//! Rules on made-up figures.
#![allow(clippy::unwrap_used)]

use super::*;
use crate::Grade::Look;
use crate::trial::{Trial, reference, section, told};

fn with(drops_lufs: &[f64]) -> crate::Evidence {
    let mut evidence = Trial::of(&[]).done();
    let sections = &mut evidence.mix.as_mut().unwrap().sections;
    for (place, lufs) in drops_lufs.iter().enumerate() {
        let start_s = 60.0 * place as f64;
        sections.push(section("break", (start_s, start_s + 30.0), -20.0));
        sections.push(section("drop", (start_s + 30.0, start_s + 60.0), *lufs));
    }
    evidence
}

#[test]
fn a_drop_is_asked_for_three_less_two() {
    assert!(no_lift::find(&with(&[-18.9])).is_empty());
    let evidence = with(&[-19.1]);
    let found = no_lift::find(&evidence);
    assert_eq!(told(&found), [("no-lift", Look, vec![])]);
    assert!(
        found[0].sentence.contains("lifts only 0.9 LU"),
        "{}",
        found[0].sentence
    );
    let softer = no_lift::find(&with(&[-20.5]));
    assert!(
        softer[0]
            .sentence
            .contains("is 0.5 LU softer than the break")
    );
}

#[test]
fn a_reference_that_lifts_more_asks_for_more_within_reason() {
    let mut evidence = with(&[-17.1]);
    assert!(no_lift::find(&evidence).is_empty());
    let mut other = reference();
    other.sections.push(section("break", (0.0, 30.0), -20.0));
    other.sections.push(section("drop", (30.0, 60.0), -10.0));
    evidence.reference = Some(other);
    // 10 LU, of which 5 are asked, less 2
    assert_eq!(no_lift::find(&evidence).len(), 1);
    let mut evidence = with(&[-16.9]);
    evidence.reference = Some(reference());
    assert!(no_lift::find(&evidence).is_empty());
}

#[test]
fn a_drop_that_falls_behind_the_other_one_is_found() {
    let found = no_lift::find(&with(&[-14.0, -18.6]));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].spans_s[0].0, 86.0);
    assert!(no_lift::find(&with(&[-14.0, -17.0])).is_empty());
}

#[test]
fn a_drop_may_be_as_loud_as_its_build_but_not_softer() {
    let after_build = |drop_lufs: f64| {
        let mut evidence = Trial::of(&[]).done();
        evidence.mix.as_mut().unwrap().sections = vec![
            section("break", (0.0, 30.0), -25.0),
            section("build", (30.0, 45.0), -20.0),
            section("drop", (45.0, 90.0), drop_lufs),
        ];
        evidence
    };
    assert!(no_lift::find(&after_build(-20.7)).is_empty());
    let found = no_lift::find(&after_build(-20.9));
    assert!(
        found[0]
            .sentence
            .contains("is 0.9 LU softer than the build"),
        "{}",
        found[0].sentence
    );
}

#[test]
fn without_a_section_before_it_nothing_is_said() {
    let mut evidence = Trial::of(&[]).done();
    let sections = &mut evidence.mix.as_mut().unwrap().sections;
    sections.push(section("drop", (0.0, 60.0), -20.0));
    assert!(no_lift::find(&evidence).is_empty());
}
