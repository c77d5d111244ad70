//! `cupel open` on a folder opened before.

use std::fs;

use serde_json::{Value, json};

use crate::support::{Folder, column, find, hats, kick, scaled, write};

fn reopened(folder: &Folder) -> Value {
    folder.json(&["open", "."])
}

/// A session with roles, a lock, a move by hand and comments.
fn with_work() -> Folder {
    let folder = Folder::with_reference();
    folder.run(&["balance"]).expect(0);
    folder.set_role(
        "04 Pad.wav",
        "\"chords\" # these are chords, whatever the name",
    );
    let text = folder.session();
    let pad = text.find("id = \"pad-fader\"").unwrap();
    let lock = pad + text[pad..].find("locked = false").unwrap();
    let text = format!(
        "{}locked = true # I like it{}",
        &text[..lock],
        &text[lock + "locked = false".len()..]
    );
    fs::write(folder.path("session.toml"), text).unwrap();
    folder.append(
        "\n# my own\n[[moves]]\nid = \"mine\"\ntarget = \"hats\"\nkind = \"pan\"\n\
         parameters = { position = -0.2 }\n\n# the end\n",
    );
    folder
}

#[test]
fn nothing_changes_where_nothing_did() {
    let folder = with_work();
    let before = folder.session();
    let document = reopened(&folder);
    assert_eq!(document["known_before"], true);
    assert_eq!(document["kept"], json!(["kick", "bass", "hats", "pad"]));
    assert_eq!(folder.session(), before);
}

#[test]
fn renamed_and_exported_again_it_is_the_same_track() {
    let folder = with_work();
    let before = folder.session();
    // The same content under another name.
    fs::rename(folder.path("04 Pad.wav"), folder.path("Warm thing.wav")).unwrap();
    // New content, and a version in the name.
    fs::remove_file(folder.path("03 Hats.wav")).unwrap();
    folder.write("03 Hats v2.wav", &scaled(&hats(0.2, 200_000), -2.0));
    fs::remove_file(folder.path("01 Kick.wav")).unwrap();
    folder.write("01 Kick copy.wav", &kick(0.3, 288_000));
    let document = reopened(&folder);
    let tracks = &document["tracks"];
    assert_eq!(column(tracks, "id"), ["kick", "bass", "hats", "pad"]);
    assert_eq!(
        column(tracks, "file"),
        [
            "01 Kick copy.wav",
            "02 Bass.wav",
            "03 Hats v2.wav",
            "Warm thing.wav"
        ]
    );
    assert_eq!(find(tracks, "id", "pad")["role"], "chords");
    assert_eq!(column(&document["renamed"], "id"), ["kick", "hats", "pad"]);
    // All that was written by hand, and every move, is as it was.
    let after = folder.session();
    let changed = |text: &str| -> Vec<String> {
        let kept = |line: &&str| !line.starts_with("file = ") && !line.starts_with("content = ");
        text.lines().filter(kept).map(str::to_owned).collect()
    };
    assert_eq!(changed(&after), changed(&before));
    assert!(after.contains("# I like it") && after.contains("# the end"));
}

#[test]
fn a_vanished_file_is_left_out_until_it_is_back() {
    let folder = with_work();
    let before = folder.session();
    let away = folder.beside("away.wav");
    fs::rename(folder.path("03 Hats.wav"), &away).unwrap();
    let document = reopened(&folder);
    assert_eq!(document["missing"], json!(["hats"]));
    let hats = find(&document["tracks"], "id", "hats");
    assert_eq!(hats["include"], false);
    assert!(
        hats["why_left_out"].as_str().unwrap().contains("not found"),
        "{hats:#}"
    );
    let text = folder.run(&["open", "."]).expect(0).out;
    assert!(text.contains("not found, left out: hats"), "{text}");
    // The others go on without it.
    folder.run(&["render"]).expect(0);
    fs::rename(&away, folder.path("03 Hats.wav")).unwrap();
    let document = reopened(&folder);
    assert_eq!(find(&document["tracks"], "id", "hats")["include"], true);
    // It now says so, and nothing else has changed.
    assert_eq!(folder.session().replacen("include = true\n", "", 1), before);
}

#[test]
fn what_was_left_out_by_hand_stays_out() {
    let folder = with_work();
    folder.edit(
        "role = \"closed hat\"",
        "role = \"closed hat\"\ninclude = false",
    );
    let before = folder.session();
    fs::rename(folder.path("03 Hats.wav"), folder.beside("away.wav")).unwrap();
    reopened(&folder);
    fs::rename(folder.beside("away.wav"), folder.path("03 Hats.wav")).unwrap();
    let document = reopened(&folder);
    assert_eq!(find(&document["tracks"], "id", "hats")["include"], false);
    assert_eq!(folder.session(), before);
    let render = folder.json(&["render"]);
    assert!(render["groups"].to_string().contains("music"));
    let drums = find(&render["groups"], "name", "drums");
    let (stem, _) = crate::support::read(&folder.path("cupel/groups/drums.wav"));
    assert!(drums["sample_peak_dbfs"].is_number());
    // The kick alone: both sides alike.
    assert_eq!(stem[0], stem[1]);
}

#[test]
fn a_new_file_becomes_a_new_track() {
    let folder = with_work();
    folder.write("05 Clap.wav", &hats(0.3, 100_000));
    let document = reopened(&folder);
    assert_eq!(document["new"], json!(["clap"]));
    assert_eq!(
        column(&document["tracks"], "id"),
        ["kick", "bass", "hats", "pad", "clap"]
    );
    assert_eq!(column(&folder.json(&["balance"])["tracks"], "id").len(), 5);
}

#[test]
fn one_file_does_not_take_over_a_session() {
    let folder = with_work();
    let before = folder.session();
    let run = folder.run(&["open", "02 Bass.wav"]).expect(1);
    assert!(
        run.talk.contains("is a session of other files"),
        "{}",
        run.talk
    );
    assert!(run.talk.contains("--session"), "{}", run.talk);
    assert_eq!(folder.session(), before);
}

#[test]
fn the_reference_can_be_changed() {
    let folder = with_work();
    write(&folder.path("second.wav"), &Folder::reference());
    let document = folder.json(&["open", ".", "--reference", "second.wav"]);
    assert_eq!(document["reference"], "second.wav");
    assert_eq!(column(&document["tracks"], "id").len(), 4);
    assert!(folder.session().contains("# the end"));
}
