//! `cupel cache`, and what losing it does: nothing but take time.

use std::fs;

use crate::support::{Folder, number};

#[test]
fn it_is_shown_and_cleared() {
    let folder = Folder::of_four();
    let empty = folder.json(&["cache"]);
    assert_eq!(empty["schema"], "cupel/cache");
    assert_eq!(empty["records"], 0);
    // 2 GiB.
    assert_eq!(empty["limit_bytes"], 2_147_483_648u64);
    folder.run(&["measure", "01 Kick.wav"]).expect(0);
    let full = folder.json(&["cache"]);
    assert!(
        number(&full["records"]) >= 1.0 && number(&full["bytes"]) > 1000.0,
        "{full}"
    );
    fs::write(folder.cache().join("mine.txt"), "mine").unwrap();
    let cleared = folder.json(&["cache", "--clear"]);
    assert_eq!(cleared["records"], full["records"]);
    assert_eq!(cleared["cleared"], true);
    assert_eq!(folder.json(&["cache"])["records"], 0);
    assert!(
        folder.cache().join("mine.txt").exists(),
        "a foreign file went"
    );
    assert!(
        folder
            .run(&["cache"])
            .expect(0)
            .out
            .starts_with("kept: 0 records")
    );
}

#[test]
fn a_damaged_record_is_measured_again() {
    let folder = Folder::of_four();
    let first = folder
        .run(&["measure", "02 Bass.wav", "--json"])
        .expect(0)
        .out;
    let mut damaged = 0;
    for entry in fs::read_dir(folder.cache()).unwrap() {
        let path = entry.unwrap().path();
        let mut bytes = fs::read(&path).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 0x55;
        fs::write(&path, bytes).unwrap();
        damaged += 1;
    }
    assert!(damaged > 0);
    let again = folder
        .run(&["measure", "02 Bass.wav", "--json"])
        .expect(0)
        .out;
    assert_eq!(first, again);
}

/// Between any two commands, and half of it.
#[test]
fn it_may_go_at_any_time() {
    let kept = Folder::with_reference();
    let lost = Folder::with_reference();
    for step in ["assay", "balance", "render"] {
        let records = fs::read_dir(lost.cache()).into_iter().flatten().flatten();
        for (index, record) in records.enumerate() {
            if step == "render" || index % 2 == 0 {
                fs::remove_file(record.path()).unwrap();
            }
        }
        if step == "render" {
            fs::remove_dir_all(lost.cache()).unwrap();
        }
        assert_eq!(kept.json(&[step]), lost.json(&[step]), "{step}");
    }
}

/// Where nothing can be kept, the answer is the same.
#[test]
fn it_need_not_be_writable() {
    let folder = Folder::of_four();
    let first = folder
        .run(&["measure", "02 Bass.wav", "--json"])
        .expect(0)
        .out;
    let cache = folder.cache();
    fs::remove_dir_all(&cache).unwrap();
    fs::write(&cache, "in the way").unwrap();
    let run = folder.run(&["measure", "02 Bass.wav", "--json"]).expect(1);
    assert!(
        run.talk.contains("cannot use the cache folder"),
        "{}",
        run.talk
    );
    assert!(run.talk.contains("hint: "), "{}", run.talk);
    fs::remove_file(&cache).unwrap();
    let again = folder
        .run(&["measure", "02 Bass.wav", "--json"])
        .expect(0)
        .out;
    assert_eq!(first, again);
}
