//! `cupel balance`: where kick, headroom and faders land, measured on the
//! rendered files.

use serde_json::Value;

use crate::support::{Folder, column, find, number, peak_dbfs, read};

/// Kick alone in its group, so that its stem is the kick element in the mix.
fn with_the_kick_alone() -> Folder {
    let folder = Folder::with_reference();
    folder.edit(
        "role = \"closed hat\"\ngroup = \"drums\"",
        "role = \"closed hat\"\ngroup = \"effects\"",
    );
    folder
}

/// Peaks of kick and pre-master, in dBFS, from the files written.
fn rendered(folder: &Folder) -> (f64, f64) {
    folder.run(&["render"]).expect(0);
    let peak = |name: &str| peak_dbfs(&read(&folder.path(name)).0);
    (peak("cupel/groups/drums.wav"), peak("cupel/premaster.wav"))
}

#[test]
fn the_kick_lands_on_its_anchor() {
    for (more, within_db) in [(&["balance", "--exact"][..], 0.05), (&["balance"], 0.1)] {
        for anchor_dbfs in [-12.0, -17.3] {
            let folder = with_the_kick_alone();
            folder.edit(
                "kick_peak_dbfs = -12.0",
                &format!("kick_peak_dbfs = {anchor_dbfs:.1}"),
            );
            let document = folder.json(more);
            assert_eq!(document["headroom_cut_db"], 0.0, "headroom is not in play");
            let (kick, mix) = rendered(&folder);
            assert!(
                (kick - anchor_dbfs).abs() <= within_db,
                "{kick} for {anchor_dbfs}"
            );
            assert!(mix < -3.0, "{mix}");
            let predicted = number(&document["predicted"]["kick_peak_dbfs"]);
            assert!((predicted - kick).abs() < 1e-4, "{predicted} {kick}");
        }
    }
}

fn gains(document: &Value) -> Vec<f64> {
    let tracks = document["tracks"].as_array().unwrap();
    tracks
        .iter()
        .map(|track| number(&track["net_gain_db"]))
        .collect()
}

/// Headroom and anchor cannot both hold: all comes down together, and the
/// balance is as it was.
#[test]
fn headroom_lowers_all_together() {
    let folder = with_the_kick_alone();
    let free = folder.json(&["balance"]);
    folder.edit("headroom_dbfs = -3.0", "headroom_dbfs = -10.0");
    for more in [&["balance"][..], &["balance", "--exact"]] {
        let document = folder.json(more);
        let cut_db = number(&document["headroom_cut_db"]);
        assert!(cut_db > 1.0, "{cut_db}");
        let (kick, mix) = rendered(&folder);
        // Never over, and at most a step of the trim below.
        assert!(mix <= -10.0 + 1e-4 && mix > -10.1 - 1e-4, "{mix}");
        assert!((kick - (-12.0 - cut_db)).abs() < 0.06, "{kick} {cut_db}");
        if more.len() == 1 {
            for (lowered, free) in gains(&document).iter().zip(gains(&free)) {
                assert!((free - lowered - cut_db).abs() < 1e-6, "{free} {lowered}");
            }
        }
        let text = folder.run(more).expect(0).out;
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = format!("{cut_db:.1} dB lower than the anchor asks");
        assert!(flat.contains(&said), "{text}");
        assert!(
            flat.contains(&format!("the kick then peaks at {kick:.1} dB")),
            "{text}"
        );
        // An anchor lowered for headroom is no fault.
        assert!(!flat.contains("kick peak:"), "{text}");
    }
}

/// A multiple of the step, to within what decimals can hold.
fn on_step(gain_db: f64, step_db: f64) -> bool {
    ((gain_db / step_db).round() * step_db - gain_db).abs() < 1e-9
}

#[test]
fn moves_come_in_steps_that_a_hand_can_set() {
    let folder = Folder::with_reference();
    let rounded = folder.json(&["balance"]);
    for step in rounded["moves"].as_array().unwrap() {
        let gain_db = number(&step["parameters"]["gain_db"]);
        let low_end = ["all", "kick", "bass"].contains(&step["target"].as_str().unwrap());
        if low_end {
            assert!(on_step(gain_db, 0.1), "{step:#}");
        } else {
            assert!(on_step(gain_db, 0.5) && gain_db.abs() >= 1.0, "{step:#}");
        }
    }
    let exact = folder.json(&["balance", "--exact"]);
    let free: Vec<f64> = exact["moves"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| number(&step["parameters"]["gain_db"]))
        .collect();
    assert!(free.iter().any(|gain| !on_step(*gain, 0.1)), "{free:?}");
    for id in column(&rounded["tracks"], "id") {
        let net = |document: &Value| number(&find(&document["tracks"], "id", id)["net_gain_db"]);
        let apart = (net(&rounded) - net(&exact)).abs();
        assert!(apart <= 0.25 + 0.05 + 1e-9, "{id}: {apart}");
    }
}

/// A difference of half a decibel is no move for a hand, and one for `--exact`.
#[test]
fn small_moves_are_kept_by_exact_only() {
    let folder = Folder::of_four();
    let four = Folder::four();
    let gains_db = [0.0, 0.0, 0.0, -0.6];
    let parts: Vec<_> = four
        .iter()
        .zip(gains_db)
        .map(|((_, sound), db)| crate::support::scaled(sound, db))
        .collect();
    let reference = crate::support::sum(&parts.iter().collect::<Vec<_>>());
    crate::support::write(&folder.path("reference.wav"), &reference);
    let targets = |document: &Value| -> Vec<String> {
        let moves = document["moves"].as_array().unwrap();
        moves
            .iter()
            .map(|step| step["target"].to_string())
            .collect()
    };
    let rounded = folder.json(&["balance"]);
    assert!(
        !targets(&rounded).contains(&"\"pad\"".into()),
        "{rounded:#}"
    );
    let exact = folder.json(&["balance", "--exact"]);
    let pad = find(&exact["moves"], "target", "pad");
    let gain_db = number(&pad["parameters"]["gain_db"]);
    assert!((-1.0..-0.2).contains(&gain_db), "{gain_db}");
}

/// The reference is the same four with other faders: they must be found back to
/// within what hats and pad share of their bands.
#[test]
fn faders_go_to_the_references_balance() {
    let document = Folder::with_reference().json(&["balance"]);
    let net = |id: &str| number(&find(&document["tracks"], "id", id)["net_gain_db"]);
    // Made so: bass -3, hats +5, pad -5 dB against the kick.
    for (id, made_db) in [("bass", -3.0), ("hats", 5.0), ("pad", -5.0)] {
        let found_db = net(id) - net("kick");
        assert!(
            (found_db - made_db).abs() < 1.5,
            "{id}: {found_db}, made {made_db}"
        );
    }
    let distance = |side: &str| number(&document[side]["distance"]["spectrum_db"]);
    assert!(
        distance("predicted") < distance("before") / 3.0,
        "{document:#}"
    );
}

#[test]
fn without_a_kick_the_strongest_low_track_is_the_anchor() {
    let folder = Folder::new();
    for ((_, sound), name) in Folder::four().iter().zip(["w", "x", "y", "z"]).skip(1) {
        folder.write(&format!("{name}.wav"), sound);
    }
    crate::support::write(&folder.beside("record.wav"), &Folder::reference());
    folder
        .run(&["open", ".", "--reference", "../record.wav"])
        .expect(0);
    let assay = folder.json(&["assay"]);
    let kick = &assay["session"]["kick"];
    assert_eq!(kick["found_by"], "strongest-low");
    assert_eq!(kick["tracks"], serde_json::json!(["x"]));
    let text = folder.run(&["assay"]).expect(0).out;
    assert!(text.contains("the strongest track below 120 Hz"), "{text}");
    let document = folder.json(&["balance", "--exact"]);
    // Less what the headroom asks of all tracks.
    let cut = number(&document["headroom_cut_db"]);
    let kick = number(&document["predicted"]["kick_peak_dbfs"]);
    assert!((kick + cut + 12.0).abs() < 0.05, "{kick} {cut}");
    // Set in the session file, it is another.
    folder.edit("name = \"tracks\"", "name = \"tracks\"\nkick = \"y\"");
    let assay = folder.json(&["assay"]);
    assert_eq!(assay["session"]["kick"]["found_by"], "set");
    assert_eq!(assay["session"]["kick"]["tracks"], serde_json::json!(["y"]));
}

/// A kick is known by its sound, whatever its file is called.
#[test]
fn without_names_the_kick_is_known_by_its_sound() {
    let folder = Folder::new();
    for ((_, sound), name) in Folder::four().iter().zip(["w", "x", "y", "z"]) {
        folder.write(&format!("{name}.wav"), sound);
    }
    folder.run(&["open", "."]).expect(0);
    let assay = folder.json(&["assay"]);
    assert_eq!(assay["session"]["kick"]["found_by"], "role");
    assert_eq!(assay["session"]["kick"]["tracks"], serde_json::json!(["w"]));
}

/// The passage can be set for both sides.
#[test]
fn a_passage_that_is_set_is_used() {
    let folder = Folder::with_reference();
    folder.edit(
        "[targets]",
        "[passage]\nstart_s = 1.0\nend_s = 4.5\n\n[targets]",
    );
    folder.edit(
        "file = \"../record.wav\"",
        "file = \"../record.wav\"\npassage = { start_s = 2.0, end_s = 5.0 }",
    );
    let document = folder.json(&["assay"]);
    assert_eq!(document["session"]["passage"]["start_s"], 1.0);
    assert_eq!(document["session"]["passage"]["end_s"], 4.5);
    assert_eq!(document["reference"]["passage"]["start_s"], 2.0);
    folder.run(&["render"]).expect(0);
    let frames = |name: &str| read(&folder.path(name)).0[0].len();
    assert_eq!(frames("cupel/compare/mix.wav"), 168_000);
    assert_eq!(frames("cupel/compare/reference.wav"), 144_000);
}
