//! Finds, misses and alarms on drawn answers.

use super::*;
use crate::faults::inject;

fn found(name: &str, grade: &str, tracks: &[&str]) -> Found {
    Found {
        name: name.to_owned(),
        grade: grade.to_owned(),
        tracks: tracks.iter().map(|&track| track.to_owned()).collect(),
        unsure: false,
        value: 1.0,
        sentence: String::new(),
        under: None,
    }
}

fn outcome(fault: &str, times: f64, all: Vec<Found>) -> Outcome {
    let done = Done {
        fault: fault.to_owned(),
        right: vec!["02 Clap".to_owned()],
        what: String::new(),
    };
    Outcome {
        session: "s".to_owned(),
        faults: if fault.is_empty() {
            Vec::new()
        } else {
            vec![done]
        },
        times,
        found: all,
        ..Outcome::default()
    }
}

#[test]
fn finds_misses_and_alarms_are_told_apart() {
    let outcomes = [
        outcome("", 0.0, vec![found("mud", "mend", &["05 Pad"])]),
        outcome(
            "core-level",
            2.0,
            vec![found("core-level", "mend", &["02 Clap"])],
        ),
        outcome(
            "core-level",
            1.0,
            vec![found("core-level", "look", &["07 Lead"])],
        ),
        outcome(
            "core-level",
            4.0,
            vec![
                found("hum", "mend", &["02 Clap"]),
                found("mud", "mend", &[]),
            ],
        ),
    ];
    let scores = scores(&inject::all(), &outcomes);
    let of = |name: &str| scores.iter().find(|score| score.name == name).unwrap();
    let level = of("core-level");
    assert_eq!(level.recall.map(|part| part.hits), [0, 1, 1, 0]);
    assert_eq!(level.recall.map(|part| part.of), [0, 1, 1, 1]);
    assert_eq!((level.right_track.hits, level.right_track.of), (1, 2));
    assert_eq!((level.precision.hits, level.precision.of), (1, 1));
    assert_eq!((of("hum").precision.hits, of("hum").precision.of), (0, 1));
    // said of the clean session: once
    assert_eq!((of("mud").precision.hits, of("mud").precision.of), (0, 1));
    assert_eq!((of("mud").clean.hits, of("mud").clean.of), (1, 1));
    assert_eq!(alarms(&inject::all(), &outcomes).len(), 2);
    assert_eq!(misses(&outcomes).len(), 0);
}
