//! `cupel open`: from a folder to a session file.

use std::fs;

use serde_json::{Value, json};

use crate::support::{Folder, RATE_HZ, column, find, kick, pad, riff_16, sine, write};

fn opened(folder: &Folder, more: &[&str]) -> Value {
    let mut arguments = vec!["open", "."];
    arguments.extend(more);
    folder.json(&arguments)
}

#[test]
fn a_folder_becomes_a_session() {
    let folder = Folder::of_four();
    let document = opened(&folder, &[]);
    assert_eq!(document["schema"], "cupel/open");
    assert_eq!(document["version"], 1);
    assert_eq!(document["session_file"], "session.toml");
    assert_eq!(document["known_before"], false);
    let tracks = &document["tracks"];
    assert_eq!(column(tracks, "id"), ["kick", "bass", "hats", "pad"]);
    assert_eq!(
        column(tracks, "file"),
        ["01 Kick.wav", "02 Bass.wav", "03 Hats.wav", "04 Pad.wav"]
    );
    assert_eq!(find(tracks, "id", "kick")["role"], "kick");
    assert_eq!(find(tracks, "id", "bass")["group"], "low end");
    assert_eq!(document["new"], json!(["kick", "bass", "hats", "pad"]));
    let text = folder.session();
    assert!(text.contains("\nformat = 1\n"), "{text}");
    assert!(text.contains("file = \"01 Kick.wav\""), "{text}");
    let home = folder.path("").display().to_string();
    assert!(!text.contains(&home), "an absolute path: {text}");
}

#[test]
fn subfolders_reference_and_bounce_are_no_tracks() {
    let folder = Folder::of_four();
    folder.write("old/05 Lead.wav", &kick(0.2, 4800));
    folder.write("their record.wav", &Folder::reference());
    folder.write("song.wav", &Folder::reference());
    let more = ["--reference", "their record.wav", "--rough", "song.wav"];
    for more in [&more[..], &[]] {
        let document = opened(&folder, more);
        assert_eq!(
            column(&document["tracks"], "id"),
            ["kick", "bass", "hats", "pad"]
        );
        assert_eq!(document["reference"], "their record.wav");
        assert_eq!(document["rough"], "song.wav");
    }
}

#[test]
fn names_tell_reference_and_bounce() {
    let folder = Folder::of_four();
    folder.write("My Reference.wav", &Folder::reference());
    folder.write("Rough Mix.wav", &Folder::reference());
    folder.write("Clap bounce.wav", &kick(0.2, 4800));
    let document = opened(&folder, &[]);
    assert_eq!(document["reference"], "My Reference.wav");
    assert_eq!(document["rough"], "Rough Mix.wav");
    assert_eq!(
        document["notes"].as_array().unwrap().len(),
        2,
        "{document:#}"
    );
    // A bounced sound is a track.
    assert_eq!(column(&document["tracks"], "id").len(), 5);
}

/// Two that could be it: neither is a track, and it is said how to choose.
#[test]
fn several_bounces_are_no_tracks_either() {
    let folder = Folder::of_four();
    folder.write("bounce 1.wav", &Folder::reference());
    folder.write("bounce 2.wav", &Folder::reference());
    let document = opened(&folder, &[]);
    assert_eq!(column(&document["tracks"], "id").len(), 4);
    assert!(document["rough"].is_null());
    let notes = document["notes"].to_string();
    assert!(notes.contains("`bounce 1.wav`, `bounce 2.wav`"), "{notes}");
    assert!(notes.contains("--rough FILE"), "{notes}");
    let document = opened(&folder, &["--rough", "bounce 2.wav"]);
    assert_eq!(column(&document["tracks"], "id").len(), 4);
    assert_eq!(document["rough"], "bounce 2.wav");
}

#[test]
fn a_session_file_elsewhere_names_files_from_there() {
    let folder = Folder::of_four();
    let plans = folder.beside("plans/now");
    fs::create_dir_all(&plans).unwrap();
    write(&folder.beside("records/record.wav"), &Folder::reference());
    folder
        .run(&[
            "open",
            ".",
            "--session",
            "../plans/now/mine.toml",
            "--reference",
            "../records/record.wav",
        ])
        .expect(0);
    assert!(!folder.path("session.toml").exists());
    let run = folder
        .run_in(&plans, &["assay", "mine.toml", "--json"])
        .expect(0);
    let document = run.json();
    assert_eq!(
        column(&document["tracks"], "file"),
        [
            "../../tracks/01 Kick.wav",
            "../../tracks/02 Bass.wav",
            "../../tracks/03 Hats.wav",
            "../../tracks/04 Pad.wav"
        ]
    );
    assert_eq!(document["reference"]["file"], "../../records/record.wav");
    assert!(plans.join("cupel/report.html").exists());
}

#[test]
fn one_stereo_file_is_a_session() {
    let folder = Folder::new();
    folder.write("whole song.wav", &Folder::reference());
    folder.write("another.wav", &pad(0.5, 48_000));
    let run = folder.run(&["open", "whole song.wav", "--json"]).expect(0);
    assert_eq!(column(&run.json()["tracks"], "file"), ["whole song.wav"]);
    let assay = folder.json(&["assay", "whole song.wav"]);
    assert_eq!(column(&assay["tracks"], "file"), ["whole song.wav"]);
    let balance = folder.json(&["balance"]);
    for step in balance["moves"].as_array().unwrap() {
        assert_eq!(step["kind"], "trim", "{step:#}");
    }
    let render = folder.json(&["render"]);
    assert!(render["compare"].is_null());
    assert!(folder.path("cupel/premaster.wav").exists());
}

/// A single file given straight to a later step is opened on the way.
#[test]
fn later_steps_open_first() {
    let folder = Folder::of_four();
    let document = folder.json(&["assay"]);
    assert_eq!(
        column(&document["tracks"], "id"),
        ["kick", "bass", "hats", "pad"]
    );
    assert!(folder.path("session.toml").exists());
}

#[test]
fn nothing_to_open_is_said() {
    let folder = Folder::new();
    fs::write(folder.path("notes.txt"), "no sound").unwrap();
    let run = folder.run(&["open", "."]).expect(1);
    assert_eq!(run.out, "");
    assert!(
        run.talk
            .starts_with("error: there is no audio file in `.`\nhint: "),
        "{}",
        run.talk
    );
    folder.write("stems/a.wav", &kick(0.5, 4800));
    let run = folder.run(&["open", "."]).expect(1);
    assert!(
        run.talk.contains("stems` holds 1 audio file"),
        "{}",
        run.talk
    );
    let run = folder.run(&["open", "nowhere"]).expect(1);
    assert!(run.talk.contains("cannot find `nowhere`"), "{}", run.talk);
    let run = folder
        .run(&["open", "stems", "--reference", "no.wav"])
        .expect(1);
    assert!(run.talk.contains("cannot find `no.wav`"), "{}", run.talk);
    assert!(!folder.path("stems/session.toml").exists());
}

#[test]
fn a_bad_file_is_named_and_the_others_opened() {
    let folder = Folder::of_four();
    fs::write(folder.path("05 Lead.wav"), b"not audio").unwrap();
    let run = folder.run(&["open", ".", "--json"]).expect(3);
    let document = run.json();
    assert_eq!(column(&document["tracks"], "id").len(), 4);
    assert_eq!(column(&document["problems"], "file"), ["05 Lead.wav"]);
    let whole = folder.path("").display().to_string();
    let run = folder.run(&["assay", &whole, "--json"]).expect(0);
    assert!(!run.out.contains(&whole), "an absolute path");
}

/// EBU Tech 3285 v2 (bext): the time reference stands at byte 338 of the chunk,
/// in samples. Starts count from the earliest stamp.
#[test]
fn a_time_stamp_shifts_the_start() {
    let folder = Folder::new();
    let stamped = |samples: u64| {
        let mut bext = vec![0u8; 602];
        bext[338..346].copy_from_slice(&samples.to_le_bytes());
        riff_16(&[(b"bext", &bext)], &[8000; 4800])
    };
    let hour = 3600 * u64::from(RATE_HZ);
    fs::write(folder.path("kick.wav"), stamped(hour)).unwrap();
    fs::write(folder.path("clap.wav"), stamped(hour + 12_345)).unwrap();
    let document = opened(&folder, &[]);
    assert_eq!(find(&document["tracks"], "id", "kick")["start_s"], 0.0);
    let start_s = find(&document["tracks"], "id", "clap")["start_s"]
        .as_f64()
        .unwrap();
    assert_eq!((start_s * f64::from(RATE_HZ)).round(), 12_345.0);
    folder.run(&["render"]).expect(0);
    let (mix, _) = crate::support::read(&folder.path("cupel/premaster.wav"));
    assert_eq!(mix[0].len(), 12_345 + 4800);
    let level = 8000.0 / 32768.0;
    assert_eq!(
        (mix[0][12_344], mix[0][12_345], mix[0][4799]),
        (0.0, level, level)
    );
}

#[cfg(unix)]
#[test]
fn links_are_named_as_they_lie_there() {
    let folder = Folder::new();
    let real = folder.beside("elsewhere/take 7.wav");
    write(&real, &vec![sine(440.0, 0.2, 48_000)]);
    std::os::unix::fs::symlink(&real, folder.path("lead.wav")).unwrap();
    std::os::unix::fs::symlink(folder.path(""), folder.beside("link")).unwrap();
    folder.write("kick.wav", &kick(0.4, 48_000));
    let document = folder.run_in(&folder.beside("link"), &["open", ".", "--json"]);
    let document = document.expect(0).json();
    assert_eq!(
        column(&document["tracks"], "file"),
        ["kick.wav", "lead.wav"]
    );
    let render = folder.json(&["render"]);
    assert_eq!(render["frames"], 48_000);
    assert!(folder.path("lead.wav").is_symlink());
}
