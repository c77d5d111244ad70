//! `cupel` alone: the next step for this folder.

use std::fs;

use crate::support::{Folder, Run, kick, write};

fn next(folder: &Folder) -> Run {
    folder.run(&[]).expect(0)
}

fn says(folder: &Folder, here: &str, next_step: &str) {
    let run = next(folder);
    let lines: Vec<&str> = run.out.lines().collect();
    assert_eq!(lines[0], here, "{}", run.out);
    assert!(
        lines[1].starts_with(&format!("Next: {next_step}")),
        "{}",
        run.out
    );
    let document = folder.json(&[]);
    assert_eq!(document["schema"], "cupel/next");
    assert_eq!(document["version"], 1);
    assert_eq!(document["here"], here);
    assert!(document["next"].as_str().unwrap().starts_with(next_step));
}

#[test]
fn an_empty_folder() {
    let folder = Folder::new();
    says(
        &folder,
        "There is no session and no audio file in this folder.",
        "export your tracks into a folder",
    );
    assert!(next(&folder).out.contains("cupel demo"));
}

#[test]
fn a_folder_of_folders() {
    let folder = Folder::new();
    folder.write("stems/a.wav", &kick(0.5, 4800));
    says(
        &folder,
        "No session here yet; `stems` holds 1 audio file.",
        "cupel open \"stems\" --reference FILE",
    );
}

#[test]
fn from_files_to_a_render() {
    let folder = Folder::of_four();
    write(&folder.beside("record.wav"), &Folder::reference());
    says(
        &folder,
        "No session here yet, but 4 audio files.",
        "cupel open . --reference FILE",
    );
    folder.run(&["open", "."]).expect(0);
    says(
        &folder,
        "A session of 4 tracks, with 0 moves on.",
        "cupel open . --reference FILE",
    );
    folder
        .run(&["open", ".", "--reference", "../record.wav"])
        .expect(0);
    says(
        &folder,
        "A session of 4 tracks, with 0 moves on.",
        "cupel balance",
    );
    folder.run(&["balance"]).expect(0);
    says(
        &folder,
        "A session of 4 tracks, with 4 moves on.",
        "cupel render",
    );
    folder.run(&["render"]).expect(0);
    says(
        &folder,
        "A session of 4 tracks, with 4 moves on.",
        "open cupel/report.html",
    );
}

#[test]
fn a_broken_session_file_is_named() {
    let folder = Folder::of_four();
    fs::write(folder.path("session.toml"), "format = 1\nnaem = \"x\"\n").unwrap();
    let run = folder.run(&[]).expect(1);
    assert!(run.talk.contains("`session.toml`, line 2"), "{}", run.talk);
}
