//! Both sides of each limit, and what must not be found.
#![allow(clippy::unwrap_used)]

use cupel_audio::{HealthCode, HealthGrade, HealthNote};
use cupel_trust::{
    Cause as Difference, Difference as Named, LeftOut, LeftOutWhy, NearIdentical, Note, Trust,
    Verdict, WrongStart,
};
use cupel_units::Role;

use super::*;
use crate::evidence::{Click, Evidence, Hum};
use crate::finding::Finding;
use crate::kind::Grade;
use crate::kinds::low_end::trial::{file, session};

fn noted(code: HealthCode, value: f64) -> HealthNote {
    HealthNote::new(code, HealthGrade::Look, "")
        .at(3.0)
        .with_value(value, "dBFS")
}

fn trust() -> Trust {
    Trust {
        verdict: Verdict::AddsUp,
        sentence: String::new(),
        can_judge_balance: true,
        residual_db: Some(-80.0),
        raw_residual_db: Some(-80.0),
        residual_by_band: Vec::new(),
        residual_by_time: Vec::new(),
        gains: Vec::new(),
        faders_in_files: Some(true),
        rough_gain_db: Some(0.0),
        rough_lag_samples: Some(0),
        rough_polarity: None,
        differences: Vec::new(),
        tracks_left_out: Vec::new(),
        starts: Vec::new(),
        wrong_starts: Vec::new(),
        near_identical: Vec::new(),
        notes: Vec::new(),
        how_to_export: None,
    }
}

fn grades(found: &[Finding]) -> Vec<Grade> {
    found.iter().map(|finding| finding.grade).collect()
}

#[test]
fn one_flat_file_is_looked_at_and_several_are_mended() {
    let mut evidence = session(&[Role::Kick, Role::Clap, Role::Lead]);
    assert!(flat_tops::find(&evidence).is_empty());
    evidence.tracks[0].file.health = vec![noted(HealthCode::FlatTops, -9.0)];
    let found = flat_tops::find(&evidence);
    assert_eq!(grades(&found), [Grade::Look]);
    assert_eq!(found[0].tracks, ["t0"]);
    evidence.tracks[1].file.health = vec![noted(HealthCode::FlatTops, -9.0)];
    evidence.tracks[2].file.health = vec![noted(HealthCode::FlatTops, -3.0)];
    let common = Note {
        code: "common_ceiling".into(),
        text: String::new(),
        tracks: vec!["t0".into(), "t1".into()],
    };
    evidence.trust = Some(Trust {
        notes: vec![common],
        ..trust()
    });
    let found = flat_tops::find(&evidence);
    assert_eq!(grades(&found), [Grade::Mend, Grade::Look]);
    assert_eq!(found[0].tracks, ["t0", "t1"]);
    assert_eq!(found[1].tracks, ["t2"]);
}

#[test]
fn offset_from_its_limit_on() {
    let mut evidence = session(&[Role::Lead]);
    for (dbfs, count) in [(-61.0, 0), (-59.0, 1)] {
        evidence.tracks[0].file.traits.offset_dbfs = Some(dbfs);
        assert_eq!(dc_offset::find(&evidence).len(), count);
    }
}

#[test]
fn hum_needs_its_harmonics_and_no_bass() {
    let hum = Hum {
        mains_hz: 50.0,
        level_dbfs: -55.0,
        above_db: 25.0,
        harmonics: 3,
        pauses_s: 6.0,
        at_s: 4.0,
    };
    let mut evidence = session(&[Role::Lead]);
    let mut with = |hum: Hum| {
        evidence.tracks[0].file.traits.hum = Some(hum);
        grades(&super::hum::find(&evidence))
    };
    assert_eq!(with(hum), [Grade::Mend]);
    let weaker = |level_dbfs| Hum { level_dbfs, ..hum };
    assert_eq!(with(weaker(-65.0)), [Grade::Look]);
    assert!(with(weaker(-71.0)).is_empty());
    assert!(
        with(Hum {
            harmonics: 1,
            ..hum
        })
        .is_empty()
    );
    evidence.tracks[0].role = Some(Role::Bass);
    evidence.tracks[0].file.traits.hum = Some(hum);
    assert!(super::hum::find(&evidence).is_empty());
}

#[test]
fn a_click_of_its_height_that_stands_out() {
    let click = Click {
        at_s: 20.0,
        step_dbfs: -36.0,
        above_db: 25.0,
        file_edge: false,
    };
    let mut evidence = session(&[Role::Lead]);
    evidence.tracks[0].start_s = 2.0;
    let mut with = |clicks: Vec<Click>| {
        evidence.tracks[0].file.traits.clicks = clicks;
        edge_click::find(&evidence)
    };
    let found = with(vec![click]);
    assert_eq!(grades(&found), [Grade::Mend]);
    assert_eq!(found[0].spans_s, [(21.5, 22.5)]);
    let lower = |step_dbfs| Click { step_dbfs, ..click };
    assert!(with(vec![lower(-41.0)]).is_empty());
    let duller = |above_db| Click { above_db, ..click };
    assert!(with(vec![duller(10.0)]).is_empty());
    // a cut tail is the cause of the click at the end
    let at_end = Click {
        at_s: 59.99,
        file_edge: true,
        ..click
    };
    assert_eq!(with(vec![at_end]).len(), 1);
    evidence.tracks[0].file.health = vec![noted(HealthCode::TailCutOff, -30.0)];
    assert!(edge_click::find(&evidence).is_empty());
    assert_eq!(grades(&cut_tail::find(&evidence)), [Grade::Look]);
}

#[test]
fn sides_that_are_silent_or_turned_over() {
    let mut evidence = session(&[Role::Pad, Role::Lead]);
    assert!(dead_channel::find(&evidence).is_empty());
    assert!(inverted_channel::find(&evidence).is_empty());
    let one = &mut evidence.tracks[0].file;
    one.health = vec![noted(HealthCode::DeadChannel, 0.0)];
    one.summary.lean_db = Some(-100.0);
    let found = dead_channel::find(&evidence);
    assert_eq!(grades(&found), [Grade::Mend]);
    assert!(found[0].sentence.contains("right"));
    // a wide pad is no inverted channel, one that is nothing but side is
    for (correlation, width_db, count) in [(0.14, -1.2, 0), (-0.1, 0.9, 0), (-0.7, 7.5, 1)] {
        let two = &mut evidence.tracks[1].file.summary;
        (two.correlation, two.width_db) = (Some(correlation), Some(width_db));
        assert_eq!(inverted_channel::find(&evidence).len(), count);
    }
}

#[test]
fn what_trust_says_of_starts_copies_and_parts() {
    let mut evidence = session(&[Role::Clap, Role::Lead]);
    let shift = |late_s| WrongStart {
        id: "t0".into(),
        late_s,
        explained: 0.9,
    };
    for (late_s, count) in [(0.0015, 0), (0.0025, 1), (-0.004, 1)] {
        evidence.trust = Some(Trust {
            wrong_starts: vec![shift(late_s)],
            ..trust()
        });
        assert_eq!(wrong_start::find(&evidence).len(), count);
    }
    let pair = NearIdentical {
        a: "t0".into(),
        b: "copy".into(),
        level_db: 0.0,
        correlation: 1.0,
        lag_samples: 0,
        exact: true,
    };
    let out = LeftOut {
        id: "copy".into(),
        why: LeftOutWhy::Duplicate,
        text: String::new(),
        of: vec!["t0".into()],
        residual_db: None,
    };
    let mut twice = Trust {
        near_identical: vec![pair.clone()],
        ..trust()
    };
    evidence.trust = Some(twice.clone());
    assert_eq!(grades(&same_twice::find(&evidence)), [Grade::Look]);
    twice.tracks_left_out = vec![out];
    evidence.trust = Some(twice.clone());
    assert_eq!(grades(&same_twice::find(&evidence)), [Grade::Mend]);
    twice.near_identical[0].exact = false;
    evidence.trust = Some(twice);
    assert!(same_twice::find(&evidence).is_empty());
    evidence.trust = Some(trust());
    assert!(missing_track::find(&evidence).is_empty());
    let named = |cause, tracks: &[&str]| Named {
        cause,
        text: String::new(),
        residual_after_db: None,
        tracks: tracks.iter().map(|&id| id.to_owned()).collect(),
    };
    let not_in = named(Difference::NotInBounce, &["t1"]);
    evidence.trust = Some(Trust {
        differences: vec![not_in.clone()],
        ..trust()
    });
    assert_eq!(missing_track::find(&evidence)[0].tracks, ["t1"]);
    // one that only lies beside its place is not missing
    evidence.trust = Some(Trust {
        differences: vec![named(Difference::NotInBounce, &["t0"])],
        wrong_starts: vec![shift(0.01)],
        ..trust()
    });
    assert!(missing_track::find(&evidence).is_empty());
}

#[test]
fn a_limiter_on_the_bounce_needs_both_signs() {
    let mut evidence: Evidence = session(&[Role::Clap]);
    let mut bounce = file("bounce");
    bounce.summary.peak_to_loudness_lu = Some(6.0);
    evidence.bounce = Some(bounce);
    evidence.trust = Some(trust());
    assert!(printed_limiter::find(&evidence).is_empty());
    evidence.trust = Some(Trust {
        differences: vec![Named {
            cause: Difference::MixDynamics,
            text: String::new(),
            residual_after_db: Some(-30.0),
            tracks: Vec::new(),
        }],
        ..trust()
    });
    assert_eq!(grades(&printed_limiter::find(&evidence)), [Grade::Mend]);
    if let Some(bounce) = &mut evidence.bounce {
        bounce.summary.peak_to_loudness_lu = Some(9.0);
    }
    assert!(printed_limiter::find(&evidence).is_empty());
}
