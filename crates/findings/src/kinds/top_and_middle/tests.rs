//! Rules on made-up figures.
#![allow(clippy::unwrap_used)]

use cupel_layers::{Layer, LayerKind};
use cupel_units::Role::{Chords, Clap, ClosedHat, Kick, Lead, Pad, Percussion, Shaker, Voice};

use super::*;
use crate::Grade::{Look, Mend};
use crate::trial::{ALWAYS, FULL_HZ, Trial, section, third_octaves, told};

/// A flat reference, and a mix in which one track adds to a band until it is so far
/// over the reference.
fn over(band_hz: (f64, f64), db: f64) -> Trial {
    let more = 2.0 * (10f64.powf(db / 10.0) - 1.0);
    Trial::of(&[Pad, Lead])
        .play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
        .taken_as_reference()
        .play(1, band_hz, ALWAYS, [0.5 * more, 0.5 * more], 1.0)
}

#[test]
fn harsh_and_mud_from_three_and_six_decibels() {
    type Find = fn(&crate::Evidence) -> Vec<crate::Finding>;
    let kinds: [(Find, (f64, f64)); 2] =
        [(harsh::find, (2000.0, 5000.0)), (mud::find, (200.0, 500.0))];
    for (find, band_hz) in kinds {
        assert!(find(&over(band_hz, 2.9).done()).is_empty());
        assert_eq!(find(&over(band_hz, 3.1).done())[0].grade, Look);
        assert_eq!(find(&over(band_hz, 5.9).done())[0].grade, Look);
        let found = find(&over(band_hz, 6.1).done());
        assert_eq!(found[0].grade, Mend);
        // the strongest owner comes first
        assert_eq!(found[0].tracks[0], "t1");
        assert!(found[0].mend.starts_with("Take off"), "{}", found[0].mend);
    }
    // no reference, nothing to say
    let alone = Trial::of(&[Lead]).play(0, (2000.0, 5000.0), ALWAYS, [1.0, 1.0], 1.0);
    assert!(harsh::find(&alone.done()).is_empty());
}

#[test]
fn a_mix_that_is_up_everywhere_is_looked_at_only() {
    let all_up = over((100.0, 16000.0), 7.0).done();
    assert_eq!(harsh::find(&all_up)[0].grade, Look);
}

#[test]
fn what_the_reference_does_itself_is_allowed() {
    let mut evidence = over((2000.0, 5000.0), 6.1).done();
    let reference = evidence.reference.as_mut().unwrap();
    let at = |level: f64| vec![Some(level); 31];
    for (place, level) in [0.0, 10.0, 20.0].into_iter().enumerate() {
        let start_s = 30.0 * place as f64;
        let mut drop = section("drop", (start_s, start_s + 30.0), -8.0);
        drop.third_octaves_db = at(level);
        reference.sections.push(drop);
    }
    // their standard deviation is 10 dB
    assert!(harsh::find(&evidence).is_empty());
}

#[test]
fn other_things_in_the_reference_make_it_a_look() {
    let mut evidence = over((2000.0, 5000.0), 7.0).done();
    evidence.passage.as_mut().unwrap().elsewhere_hz = vec![(2000.0, 5000.0)];
    assert_eq!(harsh::find(&evidence)[0].grade, Look);
}

#[test]
fn a_missing_top_is_dull() {
    let without = |db: f64| {
        let top = 10f64.powf(-db / 10.0);
        let reference = Trial::of(&[Pad]).play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0);
        let reference = reference.taken_as_reference().done();
        let mut own = Trial::of(&[Pad, ClosedHat])
            .play(0, (20.0, 6000.0), ALWAYS, [1.0, 1.0], 1.0)
            .play(1, (6000.0, 20000.0), ALWAYS, [top, top], 1.0)
            .done();
        own.reference = reference.reference;
        own.passage.as_mut().unwrap().reference = reference.passage.unwrap().reference;
        own
    };
    assert!(dull::find(&without(2.9)).is_empty());
    assert_eq!(dull::find(&without(3.1))[0].grade, Look);
    let evidence = without(6.1);
    assert_eq!(told(&dull::find(&evidence)), [("dull", Mend, vec!["t1"])]);
    assert!(dull::find(&without(-5.0)).is_empty());
}

#[test]
fn a_voice_hisses_from_thirteen_decibels_under_its_body_on() {
    // as many third octaves in both: 10 from 315 Hz to 2.5 kHz and on, 3 in the hiss
    let voice = |hiss_db: f64| {
        let mut evidence = Trial::of(&[Voice])
            .play(0, FULL_HZ, ALWAYS, [1.0, 1.0], 1.0)
            .done();
        let count_db = 10.0 * (11.0f64 / 3.0).log10();
        evidence.tracks[0].file.summary.third_octaves = third_octaves(|hz| match hz {
            hz if (300.0..3500.0).contains(&hz) => -30.0,
            hz if (5000.0..9500.0).contains(&hz) => -30.0 + count_db + hiss_db,
            _ => -90.0,
        });
        evidence
    };
    assert!(sibilance::find(&voice(-18.0)).is_empty());
    assert!(sibilance::find(&voice(-13.2)).is_empty());
    assert_eq!(sibilance::find(&voice(-12.8))[0].grade, Look);
    let evidence = voice(-9.8);
    assert_eq!(
        told(&sibilance::find(&evidence)),
        [("sibilance", Mend, vec!["t0"])]
    );
    // hardly there in the mix
    let mut evidence = voice(-9.8);
    let powers = &mut evidence.passage.as_mut().unwrap().tracks;
    powers.push(powers[0].clone());
    for power in &mut powers[0].whole {
        *power *= 0.01;
    }
    assert!(sibilance::find(&evidence).is_empty());
}

fn layer(high_hz: f64, level_db: f64) -> Layer {
    Layer {
        kind: LayerKind::Hat,
        name: "hat".into(),
        id: None,
        places: vec![0, 2],
        pattern_bars: 1,
        slots: 16,
        band_hz: (6000.0, high_hz),
        length_ms: 40.0,
        sustained: false,
        side: 0.0,
        wide: 0.0,
        level_db,
        sure: 0.9,
    }
}

#[test]
fn two_more_at_the_top_than_the_reference_are_too_many() {
    let roles = [Kick, ClosedHat, Shaker, Clap, Percussion, Chords];
    let mix = |high: usize| {
        let mut trial = Trial::of(&roles).play(0, (40.0, 200.0), ALWAYS, [1.0, 1.0], 1.0);
        for track in 1..=high {
            trial = trial.play(track, (6000.0, 16000.0), ALWAYS, [1.0, 1.0], 1.0);
        }
        let mut evidence = trial.taken_as_reference().done();
        let layers = &mut evidence.reference.as_mut().unwrap().layers;
        layers.extend([
            layer(12_000.0, 0.0),
            layer(12_000.0, -5.0),
            layer(3000.0, 0.0),
        ]);
        evidence
    };
    assert!(crowded_top::find(&mix(4)).is_empty());
    let evidence = mix(5);
    let found = crowded_top::find(&evidence);
    assert_eq!(
        told(&found),
        [("crowded-top", Look, vec!["t2", "t4", "t5"])]
    );
    // a reference that has as many
    let mut evidence = mix(5);
    let layers = &mut evidence.reference.as_mut().unwrap().layers;
    layers.extend([layer(12_000.0, -3.0), layer(12_000.0, -4.0)]);
    assert!(crowded_top::find(&evidence).is_empty());
}
