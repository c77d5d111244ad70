//! `cupel balance`: moves in the session file, and what stays of it.

use std::collections::BTreeSet;
use std::fs;

use serde_json::Value;

use crate::support::{Folder, column, find, number};

fn keys(value: &Value) -> BTreeSet<&str> {
    value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect()
}

/// The text of one move's table in the session file, up to the next table.
fn table(text: &str, id: &str) -> String {
    let at = text.find(&format!("id = \"{id}\"")).unwrap();
    let start = text[..at].rfind("[[moves]]").unwrap();
    let end = text[at..].find("\n[[").map_or(text.len(), |end| at + end);
    text[start..end].to_owned()
}

#[test]
fn a_move_has_the_agreed_keys() {
    let folder = Folder::with_reference();
    let document = folder.json(&["balance"]);
    assert_eq!(document["schema"], "cupel/balance");
    assert_eq!(document["version"], 1);
    let agreed = BTreeSet::from([
        "id",
        "target",
        "kind",
        "parameters",
        "by",
        "stage",
        "why",
        "locked",
        "on",
    ]);
    let moves = document["moves"].as_array().unwrap();
    assert_eq!(moves.len(), 4, "{document:#}");
    let text = folder.session();
    for step in moves {
        assert_eq!(keys(step), agreed);
        assert_eq!((&step["by"], &step["on"]), (&"cupel".into(), &true.into()));
        assert!(step["why"].as_str().unwrap().len() > 10, "{step:#}");
        let table = table(&text, step["id"].as_str().unwrap());
        for key in &agreed {
            assert!(table.contains(&format!("\n{key} = ")), "{key} in {table}");
        }
    }
    assert_eq!(text.matches("[[moves]]").count(), 4);
    for field in [
        "headroom_cut_db",
        "before",
        "predicted",
        "cannot_tell",
        "trust",
    ] {
        assert!(!document[field].is_null(), "{field}");
    }
}

/// Net gain: trim, fader and group gains that are on; nothing else.
#[test]
fn net_gain_is_the_sum_of_what_is_on() {
    let folder = Folder::with_reference();
    folder.run(&["balance"]).expect(0);
    folder.append(
        "\n[[moves]]\nid = \"g\"\ntarget = \"group drums\"\nkind = \"fader\"\n\
         parameters = { gain_db = -1.5 }\n\
         [[moves]]\nid = \"p\"\ntarget = \"hats\"\nkind = \"pan\"\nparameters = { position = 0.4 }\n\
         [[moves]]\nid = \"o\"\ntarget = \"kick\"\nkind = \"fader\"\non = false\n\
         parameters = { gain_db = 9.0 }\n",
    );
    let document = folder.json(&["balance"]);
    let moves = document["moves"].as_array().unwrap();
    let reaches = |step: &Value, track: &Value| {
        let target = step["target"].as_str().unwrap();
        let group = format!("group {}", track["group"].as_str().unwrap());
        target == "all" || target == track["id"] || target == group
    };
    for track in document["tracks"].as_array().unwrap() {
        let sum: f64 = moves
            .iter()
            .filter(|step| step["on"] == true && reaches(step, track))
            .filter_map(|step| step["parameters"]["gain_db"].as_f64())
            .sum();
        let net = number(&track["net_gain_db"]);
        assert!((net - sum).abs() < 1e-9, "{track:#}: {sum}");
    }
}

#[test]
fn a_second_run_proposes_the_same() {
    for exact in [&[][..], &["--exact"]] {
        let folder = Folder::with_reference();
        let run = || {
            let mut arguments = vec!["balance"];
            arguments.extend(exact);
            (folder.json(&arguments), folder.session())
        };
        let first = run();
        let second = run();
        for part in ["moves", "tracks", "predicted"] {
            assert_eq!(first.0[part], second.0[part], "{part}");
        }
        assert_eq!(first.1, second.1);
        assert_eq!(second.0["path"]["steps"], serde_json::json!([]));
    }
}

#[test]
fn locked_moves_hand_moves_and_comments_stay() {
    let folder = Folder::with_reference();
    folder.run(&["balance"]).expect(0);
    let text = folder.session();
    let pad = table(&text, "pad-fader");
    let value = pad
        .lines()
        .find(|line| line.starts_with("parameters"))
        .unwrap();
    let locked = pad
        .replace("locked = false", "locked = true  # mine")
        .replace(value, "parameters = { gain_db = -1.125e0 }# so");
    let hand = "# what I did\n[[moves]] # by hand\nid=\"hats-up\"\ntarget = 'hats'\n\
                kind = \"fader\"\nparameters = {gain_db=+2.25}   # listen again\n";
    let text = text
        .replace(&pad, &locked)
        .replace("id = \"bass-fader\"", "id = \"bass-fader\" # hmm");
    fs::write(folder.path("session.toml"), text + "\n" + hand).unwrap();
    let document = folder.json(&["balance", "--all"]);
    let after = folder.session();
    assert!(after.contains(locked.trim_end()), "{after}");
    assert!(after.contains(hand), "{after}");
    assert!(after.contains("# hmm"), "{after}");
    assert_eq!(
        number(&find(&document["moves"], "id", "pad-fader")["parameters"]["gain_db"]),
        -1.125
    );
    assert_eq!(find(&document["moves"], "id", "hats-up")["by"], "hand");
    // What is locked gets no second fader; what is on stays beside the one by hand.
    let moves = document["moves"].as_array().unwrap();
    for (id, count) in [("pad", 1), ("hats", 2)] {
        let of_track = moves.iter().filter(|step| step["target"] == id);
        assert_eq!(of_track.count(), count);
    }
}

/// A move that is off and locked is settled; one that is only off is found anew in
/// the next round.
#[test]
fn off_and_locked_stays_off() {
    let folder = Folder::with_reference();
    folder.run(&["balance"]).expect(0);
    let text = folder.session();
    let pad = table(&text, "pad-fader");
    let off = pad.replace("on = true", "on = false");
    let locked = off.replace("locked = false", "locked = true");
    fs::write(folder.path("session.toml"), text.replace(&pad, &locked)).unwrap();
    for arguments in [&["balance"][..], &["balance", "--all"]] {
        let document = folder.json(arguments);
        assert_eq!(find(&document["moves"], "id", "pad-fader")["on"], false);
        let net = number(&find(&document["tracks"], "id", "pad")["net_gain_db"]);
        let trim = number(&find(&document["moves"], "id", "all-trim")["parameters"]["gain_db"]);
        assert_eq!(net, trim);
    }
    let text = folder.run(&["balance"]).expect(0).out;
    assert!(text.contains("1 more is written down but off"), "{text}");
    let session = folder.session();
    fs::write(folder.path("session.toml"), session.replace(&locked, &off)).unwrap();
    let document = folder.json(&["balance"]);
    assert_eq!(find(&document["moves"], "id", "pad-fader")["on"], true);
}

/// A stage that is left out writes its moves, off, or none.
#[test]
fn a_stage_can_be_left_out() {
    let folder = Folder::with_reference();
    let document = folder.json(&["balance", "--skip", "rest", "--skip", "anchor"]);
    let moves = document["moves"].as_array().unwrap();
    let on = |stage: &str| {
        let of_stage = moves.iter().filter(|step| step["stage"] == stage);
        of_stage.filter(|step| step["on"] == true).count()
    };
    assert_eq!(
        (on("anchor"), on("low end"), on("core"), on("rest")),
        (0, 1, 1, 0)
    );
}

/// The trim of all, switched off: it stays off, headroom or not, and the
/// summary says that the headroom is not kept.
#[test]
fn a_trim_that_is_off_stays_off() {
    let folder = Folder::with_reference();
    folder.edit("headroom_dbfs = -3.0", "headroom_dbfs = -12.0");
    folder.run(&["balance"]).expect(0);
    let text = folder.session();
    let trim = table(&text, "all-trim");
    let off = trim.replace("on = true", "on = false");
    fs::write(folder.path("session.toml"), text.replace(&trim, &off)).unwrap();
    for _ in 0..2 {
        let document = folder.json(&["balance"]);
        let moves = document["moves"].as_array().unwrap();
        let trims: Vec<&Value> = moves.iter().filter(|step| step["kind"] == "trim").collect();
        assert_eq!(trims.len(), 1);
        assert_eq!(trims[0]["on"], false);
        assert_eq!(document["headroom_cut_db"], 0.0);
    }
    let text = folder.run(&["balance"]).expect(0).out;
    assert!(text.contains("over the headroom of -12.0"), "{text}");
}

#[test]
fn a_trim_by_hand_is_the_only_one() {
    let folder = Folder::with_reference();
    folder.append(
        "\n[[moves]]\nid = \"all-trim\"\ntarget = \"all\"\nkind = \"trim\"\n\
         parameters = { gain_db = 4.0 }\n",
    );
    let document = folder.json(&["balance"]);
    let trims: Vec<&str> = column(&document["moves"], "kind")
        .into_iter()
        .filter(|kind| *kind == "trim")
        .collect();
    assert_eq!(trims.len(), 1);
    assert_eq!(
        number(&find(&document["moves"], "id", "all-trim")["parameters"]["gain_db"]),
        4.0
    );
    let text = folder.run(&["balance"]).expect(0).out;
    assert!(text.contains("over the headroom of -3.0"), "{text}");
}

/// A trim by hand that is off does not stand in the way of the headroom.
#[test]
fn a_hand_trim_that_is_off_is_no_trim() {
    let folder = Folder::with_reference();
    folder.edit("headroom_dbfs = -3.0", "headroom_dbfs = -12.0");
    folder.append(
        "\n[[moves]]\nid = \"all-trim\"\ntarget = \"all\"\nkind = \"trim\"\non = false\n\
         parameters = { gain_db = 4.0 }\n",
    );
    for _ in 0..2 {
        let document = folder.json(&["balance"]);
        let peak = number(&document["predicted"]["sample_peak_dbfs"]);
        assert!(peak <= -12.0 + 1e-6, "{peak}");
        assert_eq!(find(&document["moves"], "id", "all-trim")["on"], false);
    }
}

#[test]
fn what_stands_first_is_done_first() {
    let folder = Folder::with_reference();
    let document = folder.json(&["balance"]);
    assert_eq!(
        column(&document["moves"], "stage"),
        ["anchor", "low end", "core", "rest"]
    );
    let text = folder.run(&["balance"]).expect(0).out;
    let place = |what: &str| text.find(what).unwrap_or_else(|| panic!("{what}: {text}"));
    assert!(place("1. all tracks: trim") < place("2. 02 Bass: fader"));
    assert!(place("2. 02 Bass: fader") < place("3. 03 Hats: fader"));
}
