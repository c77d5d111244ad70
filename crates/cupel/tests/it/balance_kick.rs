//! `cupel balance` where the kick itself is off: one move of it, not one of all others.

use serde_json::Value;

use crate::support::{
    Folder, RATE_HZ, Sound, find, number, peak_dbfs, read, scaled, sine, sum, write,
};

/// Seven tracks beside the kick of the four.
fn tracks() -> Vec<(&'static str, Sound)> {
    let whole = 6 * RATE_HZ as usize;
    let tone = |hertz: f64, amplitude: f64| vec![sine(hertz, amplitude, whole)];
    let more = [
        ("05 Lead.wav", tone(1_300.0, 0.03)),
        ("06 Chords.wav", tone(640.0, 0.03)),
        ("07 Voice.wav", tone(3_100.0, 0.02)),
    ];
    Folder::four().into_iter().chain(more).collect()
}

/// Opened beside its own sum with the kick 6 dB louder.
fn kick_too_soft() -> Folder {
    let folder = Folder::new();
    let tracks = tracks();
    let parts: Vec<Sound> = tracks
        .iter()
        .enumerate()
        .map(|(n, (name, sound))| {
            folder.write(name, sound);
            scaled(sound, if n == 0 { 6.0 } else { 0.0 })
        })
        .collect();
    write(
        &folder.beside("record.wav"),
        &sum(&parts.iter().collect::<Vec<_>>()),
    );
    folder
        .run(&["open", ".", "--reference", "../record.wav"])
        .expect(0);
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
    assert_eq!(faders.len(), 1, "{document:#}");
    let (target, gain_db) = faders[0];
    assert_eq!(target, "kick");
    assert!((gain_db - 6.0).abs() <= 0.2, "{gain_db}");
    let step = find(&document["moves"], "target", "kick");
    assert_eq!(step["stage"], "anchor");
    let why = step["why"].as_str().unwrap();
    assert!(why.contains("6 of 6 tracks stand too loud"), "{why}");
    // The trim knows of the move: the kick still lands on its anchor.
    let predicted_dbfs = number(&document["predicted"]["kick_peak_dbfs"]);
    let cut_db = number(&document["headroom_cut_db"]);
    assert!(
        (predicted_dbfs + 12.0 + cut_db).abs() <= 0.1,
        "{predicted_dbfs}"
    );
    assert_eq!(document["path"]["steps"][0]["track"], "kick");

    let again = folder.json(&["balance"]);
    for part in ["moves", "tracks", "predicted"] {
        assert_eq!(document[part], again[part], "{part}");
    }
    folder.run(&["render"]).expect(0);
    let (premaster, _) = read(&folder.path("cupel/premaster.wav"));
    assert!(peak_dbfs(&premaster) <= -3.0 + 1e-4);
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
