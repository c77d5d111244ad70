//! Can the tracks be trusted? Bounces of known truth beside the same tracks.

use serde_json::Value;

use crate::support::{Folder, Sound, column, find, noise, number, rounded, scaled, sum};

fn bounce_of(parts: &[Sound]) -> Sound {
    let sum = sum(&parts.iter().collect::<Vec<_>>());
    sum.into_iter().map(rounded).collect()
}

fn four() -> Vec<Sound> {
    Folder::four().map(|(_, sound)| sound).to_vec()
}

fn with_bounce(bounce: &Sound) -> Folder {
    let folder = Folder::with_reference();
    folder.write("bounce.wav", bounce);
    folder.run(&["open", "."]).expect(0);
    folder
}

fn trust(folder: &Folder) -> Value {
    folder.json(&["assay"])["trust"].clone()
}

#[test]
fn an_exact_bounce_adds_up() {
    let folder = with_bounce(&bounce_of(&four()));
    let trust = trust(&folder);
    assert_eq!(trust["verdict"], "adds_up", "{trust:#}");
    assert_eq!(trust["can_judge_balance"], true);
    assert_eq!(trust["faders_in_files"], true);
    // Both are rounded to 32-bit float: what is left is far below -100 dB.
    assert!(number(&trust["residual_db"]) < -100.0, "{trust:#}");
    let text = folder.run(&["assay"]).expect(0).out;
    assert!(
        text.starts_with("Can the tracks be trusted? The files add up"),
        "{text}"
    );
}

#[test]
fn faders_are_recovered() {
    let gains_db = [0.0, -3.0, 2.0, -5.0];
    let parts: Vec<Sound> = four()
        .iter()
        .zip(gains_db)
        .map(|(sound, db)| scaled(sound, db))
        .collect();
    let folder = with_bounce(&bounce_of(&parts));
    let trust = trust(&folder);
    assert_eq!(trust["verdict"], "adds_up_but", "{trust:#}");
    assert_eq!(trust["faders_in_files"], false);
    for (id, db) in ["kick", "bass", "hats", "pad"].iter().zip(gains_db) {
        let found = number(&find(&trust["gains"], "id", id)["gain_db"]);
        assert!((found - db).abs() < 0.1, "{id}: {found}, made {db}");
    }
}

/// A track that is in the bounce and in none of the files.
#[test]
fn a_missing_track_stops_the_balance() {
    let mut parts = four();
    let hiss: Vec<f64> = noise(77, parts[0][0].len());
    parts.push(scaled(&vec![hiss], -12.0));
    let folder = with_bounce(&bounce_of(&parts));
    let document = trust(&folder);
    assert_eq!(document["verdict"], "does_not_add_up", "{document:#}");
    assert_eq!(document["can_judge_balance"], false);
    let before = folder.session();
    let run = folder.run(&["balance", "--json"]).expect(4);
    let failure: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(failure["schema"], "cupel/failure");
    assert!(
        run.talk.starts_with("error: cannot judge the balance: "),
        "{}",
        run.talk
    );
    assert!(run.talk.contains("--anyway"), "{}", run.talk);
    assert!(run.talk.to_lowercase().contains("export"), "{}", run.talk);
    assert_eq!(folder.session(), before, "moves were written");
    let anyway = folder.json(&["balance", "--anyway"]);
    assert_eq!(anyway["trust"], "does_not_add_up");
    assert!(folder.session().contains("[[moves]]"));
    let text = folder.run(&["assay"]).expect(0).out;
    assert!(text.contains("Next: export again"), "{text}");
}

/// A track among the files that the bounce does not have.
#[test]
fn a_muted_track_is_named() {
    let trust = trust(&with_bounce(&bounce_of(&four()[..3])));
    assert_eq!(trust["can_judge_balance"], true);
    assert!(
        trust["differences"].to_string().contains("04 Pad.wav"),
        "{trust:#}"
    );
}

fn with_group_sum() -> Folder {
    let folder = Folder::of_four();
    let four = four();
    folder.write(
        "05 Drums all.wav",
        &bounce_of(&[four[0].clone(), four[2].clone()]),
    );
    folder.run(&["open", "."]).expect(0);
    folder
}

#[test]
fn a_sum_of_others_is_left_out() {
    let folder = with_group_sum();
    let document = folder.json(&["assay"]);
    let tracks = &document["tracks"];
    let out: Vec<&str> = tracks
        .as_array()
        .unwrap()
        .iter()
        .filter(|track| track["include"] == false)
        .map(|track| track["file"].as_str().unwrap())
        .collect();
    assert_eq!(out, ["05 Drums all.wav"], "{tracks:#}");
    let track = find(tracks, "file", "05 Drums all.wav");
    assert!(track["why_left_out"].as_str().unwrap().len() > 10);
    let text = folder.session();
    assert_eq!(text.matches("include = false").count(), 1, "{text}");
    assert_eq!(text.matches("why_left_out = ").count(), 1, "{text}");
    // The mix is that of the four.
    let peak = number(&document["session"]["sample_peak_dbfs"]);
    let expected = crate::support::peak_dbfs(&sum(&four().iter().collect::<Vec<_>>()));
    assert!((peak - expected).abs() < 1e-6, "{peak} {expected}");
    // And stays so.
    folder.run(&["assay"]).expect(0);
    assert_eq!(folder.session(), text);
}

#[test]
fn put_back_by_hand_it_stays() {
    let folder = with_group_sum();
    folder.run(&["assay"]).expect(0);
    folder.edit(
        "include = false",
        "include = true # it is a layer of its own",
    );
    let text = folder.session();
    for command in ["assay", "open", "balance"] {
        let document = folder.json(&[command]);
        let track = find(&document["tracks"], "file", "05 Drums all.wav");
        assert_eq!(track["include"], true, "{command}");
    }
    let after = folder.session();
    assert!(after.starts_with(text.trim_end()), "{after}");
}

#[test]
fn the_same_file_twice_is_named() {
    let folder = Folder::of_four();
    folder.write("05 Lead.wav", &four()[3]);
    folder.run(&["open", "."]).expect(0);
    let trust = trust(&folder);
    let said = trust.to_string();
    assert!(said.contains("pad") && said.contains("lead"), "{trust:#}");
    let twin = trust["near_identical"].as_array().unwrap().len()
        + trust["tracks_left_out"].as_array().unwrap().len();
    assert!(twin > 0, "{trust:#}");
}

/// A file trimmed to its first clip, without a time stamp.
#[test]
fn a_trimmed_file_is_aligned_to_the_bounce() {
    let folder = Folder::of_four();
    let mut parts = four();
    let late = 2 * crate::support::RATE_HZ as usize;
    let clip = crate::support::bass(0.3, 3 * crate::support::RATE_HZ as usize);
    let moved: Sound = clip
        .iter()
        .enumerate()
        .map(|(side, channel)| {
            let other = noise(90 + side as u64, channel.len());
            let mut whole = vec![0.0; late];
            whole.extend(channel.iter().zip(&other).map(|(x, n)| x + 0.05 * n));
            rounded(whole)
        })
        .collect();
    let clip: Sound = moved
        .iter()
        .map(|channel| channel[late..].to_vec())
        .collect();
    parts.push(moved);
    folder.write("05 Lead.wav", &clip);
    folder.write("bounce.wav", &bounce_of(&parts));
    let document = folder.json(&["assay"]);
    assert_eq!(
        column(&document["trust"]["starts"], "id"),
        ["lead"],
        "{:#}",
        document["trust"]
    );
    let start_s = number(&find(&document["tracks"], "id", "lead")["start_s"]);
    assert!(
        (start_s - 2.0).abs() < 0.5 / f64::from(crate::support::RATE_HZ),
        "{start_s}"
    );
    assert!(
        folder.session().contains("start_s = 2"),
        "{}",
        folder.session()
    );
    assert_eq!(document["trust"]["verdict"], "adds_up");
}
