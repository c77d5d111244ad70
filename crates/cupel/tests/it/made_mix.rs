//! `cupel demo --mix-only`: a mix of known truth, and what is heard in it.

use serde_json::Value;

use crate::support::Folder;

fn truth(folder: &Folder, name: &str) -> Value {
    let text = std::fs::read_to_string(folder.path(name).join("truth.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

#[test]
fn what_was_asked_for_is_made_and_heard() {
    let folder = Folder::new();
    let wishes = [
        "--mix-only",
        "--seconds",
        "45",
        "--tempo",
        "123.5",
        "--swing",
        "0.5",
        "--start",
        "-1.3",
    ];
    let words: Vec<&str> = ["demo", "made", "--seed", "3"]
        .into_iter()
        .chain(wishes)
        .chain(["--key", "Eb minor"])
        .collect();
    let made = folder.json(&words);
    assert_eq!(made["schema"], "cupel/demo");
    let truth = truth(&folder, "made");
    assert_eq!(truth["key"], "D# minor");
    assert_eq!(truth["tempo_bpm"], 123.5);
    assert!(!folder.path("made").join("tracks").exists());
    let heard = folder.json(&["measure", "made/mix.wav"])["files"][0].clone();
    let tempo_bpm = heard["tempo_bpm"].as_f64().unwrap();
    assert!((tempo_bpm - 123.5).abs() < 0.05, "{tempo_bpm}");
}

#[test]
fn a_wish_out_of_range_is_named() {
    let folder = Folder::new();
    for (wish, value) in [
        ("--key", "H major"),
        ("--metre", "5"),
        ("--tuning-cents", "-80"),
    ] {
        let run = folder.run(&["demo", "made", "--mix-only", wish, value]);
        assert_ne!(run.code, Some(0));
        assert!(run.talk.contains(value), "{}", run.talk);
    }
    assert!(!folder.path("made").exists());
}
