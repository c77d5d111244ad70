//! Session files with mistakes: the line, the reason, the allowed values.

use std::fs;

use crate::support::Folder;

/// Runs every command on an edited session file, which must say all of this and
/// leave the file as it is.
fn check(old: &str, new: &str, says: &[&str]) {
    let folder = Folder::with_reference();
    folder.edit(old, new);
    let text = folder.session();
    let first = new.lines().next().unwrap();
    let line = text.lines().position(|line| line.ends_with(first)).unwrap() + 1;
    // The mistake stands on the last line that was written.
    let line = line + new.lines().count() - 1;
    for command in ["open", "assay", "balance", "render"] {
        let run = folder.run(&[command]).expect(1);
        assert_eq!(run.out, "", "{command}");
        let start = format!("error: cannot use `session.toml`, line {line}: ");
        assert!(run.talk.starts_with(&start), "{command}: {}", run.talk);
        for part in says {
            assert!(run.talk.contains(part), "`{part}` in {}", run.talk);
        }
        assert_eq!(folder.session(), text, "{command}");
    }
}

#[test]
fn an_unknown_key() {
    check(
        "name = \"tracks\"",
        "name = \"tracks\"\nrefrence = \"x\"",
        &[
            "unknown key `refrence`",
            "did you mean `reference`",
            "allowed",
            "`targets`",
        ],
    );
}

#[test]
fn an_unknown_role() {
    check(
        "role = \"kick\"",
        "role = \"kcik\"",
        &[
            "`role` is",
            "kcik",
            "did you mean",
            "allowed",
            "kick",
            "voice",
        ],
    );
}

#[test]
fn an_unknown_group() {
    check(
        "group = \"music\"",
        "group = \"musik\"",
        &["`group` is", "did you mean", "`effects`"],
    );
}

#[test]
fn a_value_out_of_range() {
    check(
        "kick_peak_dbfs = -12.0",
        "kick_peak_dbfs = 12.0",
        &["`kick_peak_dbfs` is 12", "-60", "0"],
    );
}

#[test]
fn a_value_of_the_wrong_type() {
    check(
        "headroom_dbfs = -3.0",
        "headroom_dbfs = \"-3\"",
        &["`headroom_dbfs` is", "must be"],
    );
}

#[test]
fn a_move_without_target() {
    let folder = Folder::with_reference();
    folder.append("\n[[moves]]\nid = \"x\"\ntarget = \"hat\"\nkind = \"fader\"\nparameters = { gain_db = 1.0 }\n");
    let run = folder.run(&["assay"]).expect(1);
    assert!(run.talk.contains("`target` is `hat`"), "{}", run.talk);
    assert!(run.talk.contains("did you mean `hats`"), "{}", run.talk);
}

#[test]
fn a_newer_format_is_left_untouched() {
    let folder = Folder::with_reference();
    folder.edit("format = 1", "format = 2\nmystery = [1, 2, { a = 3 }]");
    let text = folder.session();
    for command in ["", "open", "assay", "balance", "render"] {
        let arguments: &[&str] = if command.is_empty() { &[] } else { &[command] };
        let run = folder.run(arguments).expect(1);
        assert!(run.talk.contains("`format` is 2"), "{}", run.talk);
        assert!(run.talk.contains("left untouched"), "{}", run.talk);
        assert_eq!(folder.session(), text);
    }
    assert!(!folder.path("cupel/premaster.wav").exists());
}

#[test]
fn an_empty_file_is_not_overwritten() {
    let folder = Folder::with_reference();
    fs::write(folder.path("session.toml"), "").unwrap();
    let run = folder.run(&["open", "."]).expect(1);
    assert!(run.talk.contains("it is empty"), "{}", run.talk);
    assert_eq!(folder.session(), "");
}
