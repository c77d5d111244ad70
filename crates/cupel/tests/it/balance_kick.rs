//! `cupel balance` where the kick itself is off: one move of it, not one of all others.

use std::fs;

use serde_json::Value;

use crate::support::{Folder, find, number, peak_dbfs, read, scaled, write};

/// Tracks of a made session beside their own bounce, but the kick 6 dB softer than there.
fn kick_too_soft() -> Folder {
    let folder = Folder::new();
    let made = folder.beside("made");
    let demo = ["demo", "--seconds", "40", "--no-mistakes", "--only-make"];
    let words = demo.into_iter().chain([made.to_str().unwrap()]);
    folder.run(&words.collect::<Vec<_>>()).expect(0);
    for entry in fs::read_dir(made.join("tracks")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if name == "01 Kick.wav" {
            write(&folder.path(&name), &scaled(&read(&path).0, -6.0));
        } else {
            fs::rename(&path, folder.path(&name)).unwrap();
        }
    }
    let open = ["open", ".", "--reference", "../made/bounce.wav"];
    folder.run(&open).expect(0);
    folder
}

fn faders(document: &Value) -> Vec<(&str, f64)> {
    let moves = document["moves"].as_array().unwrap().iter();
    moves
        .filter(|step| step["kind"] == "fader" && step["on"] == true)
        .map(|step| {
            let target = step["target"].as_str().unwrap();
            (target, number(&step["parameters"]["gain_db"]))
        })
        .collect()
}

#[test]
fn a_kick_too_soft_is_moved_itself() {
    let folder = kick_too_soft();
    let document = folder.json(&["balance"]);
    let faders = faders(&document);
    let (target, gain_db) = faders[0];
    assert_eq!(target, "kick", "{document:#}");
    assert!((gain_db - 6.0).abs() <= 0.5, "{gain_db}");
    // Nearly all others would have had to come down by as much.
    let others = &faders[1..];
    assert!(
        others.len() <= 6 && others.iter().all(|(_, db)| *db > -4.0),
        "{others:?}"
    );
    let step = find(&document["moves"], "target", "kick");
    assert_eq!(step["stage"], "anchor");
    let why = step["why"].as_str().unwrap();
    assert!(
        why.contains("tracks stand too loud beside the kick"),
        "{why}"
    );
    // The trim knows of the move: the kick still lands on its anchor.
    let predicted_dbfs = number(&document["predicted"]["kick_peak_dbfs"]);
    let cut_db = number(&document["headroom_cut_db"]);
    assert!(
        (predicted_dbfs + 12.0 + cut_db).abs() <= 0.1,
        "{predicted_dbfs}"
    );
    assert_eq!(document["path"]["steps"][0]["track"], "kick");

    // With all of them on, nothing is left to propose, and the kick has its move once.
    let all = folder.json(&["balance", "--all"]);
    let again = folder.json(&["balance", "--all"]);
    for part in ["moves", "tracks", "predicted"] {
        assert_eq!(all[part], again[part], "{part}");
    }
    let kick = find(&again["tracks"], "id", "kick");
    let trim = find(&again["moves"], "target", "all");
    let trim_db = number(&trim["parameters"]["gain_db"]);
    assert!(
        (number(&kick["net_gain_db"]) - trim_db - gain_db).abs() < 1e-9,
        "{kick}"
    );
    folder.run(&["render"]).expect(0);
    let (premaster, _) = read(&folder.path("cupel/premaster.wav"));
    assert!(peak_dbfs(&premaster) <= -3.0 + 1e-4);
}

/// Said of the kick, and not of every other element.
#[test]
fn a_kick_too_soft_is_found_as_such() {
    let folder = kick_too_soft();
    let document = folder.json(&["assay"]);
    let findings = document["findings"].as_array().unwrap();
    let levels: Vec<&Value> = findings
        .iter()
        .filter(|found| found["name"] == "core-level" && found["grade"] != "good")
        .collect();
    let of_kick = levels
        .iter()
        .find(|found| found["element"] == "kick")
        .unwrap();
    let sentence = of_kick["sentence"].as_str().unwrap();
    assert!(
        sentence.contains("too soft beside most tracks"),
        "{sentence}"
    );
    assert_eq!(of_kick["grade"], "mend");
    let size_db = number(&of_kick["value"]);
    assert!((size_db - 6.0).abs() <= 0.5, "{size_db}");
    assert!(levels.len() <= 3, "{levels:#?}");
}

/// A fader that someone set says that levels beside the kick are meant: the kick stays.
#[test]
fn a_kick_beside_a_fader_by_hand_stays() {
    let folder = kick_too_soft();
    folder.append(
        "\n[[moves]]\nid = \"mine\"\ntarget = \"lead\"\nkind = \"fader\"\n\
         parameters = { gain_db = -1.0 }\n",
    );
    let document = folder.json(&["balance"]);
    let kick = faders(&document)
        .into_iter()
        .find(|(target, _)| *target == "kick");
    assert_eq!(kick, None, "{document:#}");
    assert!(faders(&document).len() > 3, "{document:#}");
}

/// A kick moved by hand: the trim brings it to its anchor with that move.
#[test]
fn the_trim_counts_a_move_of_the_kick_by_hand() {
    let folder = kick_too_soft();
    folder.append(
        "\n[[moves]]\nid = \"mine\"\ntarget = \"kick\"\nkind = \"fader\"\n\
         parameters = { gain_db = 3.0 }\n",
    );
    let document = folder.json(&["balance"]);
    let predicted_dbfs = number(&document["predicted"]["kick_peak_dbfs"]);
    let cut_db = number(&document["headroom_cut_db"]);
    assert!(
        (predicted_dbfs + 12.0 + cut_db).abs() <= 0.1,
        "{predicted_dbfs}"
    );
}
