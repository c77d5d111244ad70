//! `cupel measure`: facts of single files.

use std::fs;

use serde_json::Value;

use crate::support::{
    Folder, RATE_HZ, Sound, column, library_lufs, noise, number, pad, peak_dbfs, rounded, silence,
    sine, write_at,
};

/// The fields that the document promises for every file.
const PROMISED: [&str; 11] = [
    "file",
    "sample_rate_hz",
    "channels",
    "seconds",
    "integrated_lufs",
    "loudness_range_lu",
    "max_momentary_lufs",
    "max_short_term_lufs",
    "sample_peak_dbfs",
    "true_peak_dbtp",
    "health",
];

fn seconds(count: f64) -> usize {
    (count * f64::from(RATE_HZ)) as usize
}

fn measured(folder: &Folder, name: &str) -> Value {
    folder.json(&["measure", name])["files"][0].clone()
}

fn health_codes(file: &Value) -> Vec<&str> {
    column(&file["health"], "code")
}

#[test]
fn the_document_has_what_is_promised() {
    let folder = Folder::new();
    folder.write("a.wav", &pad(0.5, seconds(4.0)));
    folder.write("b.wav", &vec![sine(1000.0, 0.5, seconds(4.0))]);
    let document = folder.json(&["measure", "a.wav", "b.wav"]);
    assert_eq!(document["schema"], "cupel/measure");
    assert_eq!(document["version"], 1);
    assert_eq!(column(&document["files"], "file"), ["a.wav", "b.wav"]);
    for file in document["files"].as_array().unwrap() {
        for field in PROMISED {
            assert!(!file[field].is_null(), "{field} of {file:#}");
        }
        assert_eq!(number(&file["seconds"]), 4.0);
        assert_eq!(file["sample_rate_hz"], RATE_HZ);
    }
    assert_eq!(document["files"][0]["channels"], 2);
    assert_eq!(document["files"][1]["channels"], 1);
}

#[test]
fn silence_is_null() {
    let folder = Folder::new();
    folder.write("silent.wav", &vec![silence(seconds(4.0)); 2]);
    let file = measured(&folder, "silent.wav");
    let object = file.as_object().unwrap();
    for field in &PROMISED[4..10] {
        assert!(object.contains_key(*field), "{field}");
        assert!(file[*field].is_null(), "{field} of {file:#}");
    }
    assert!(health_codes(&file).contains(&"silence"), "{file:#}");
    assert!(
        folder
            .run(&["measure", "silent.wav"])
            .expect(0)
            .out
            .contains('-')
    );
}

/// Two equal sides hold twice the power of one: 10 log10 2 = 3.01 LU
/// (ITU-R BS.1770-5 annex 1 sums the powers of the channels).
#[test]
fn mono_is_measured_as_it_plays() {
    let folder = Folder::new();
    let tone = sine(997.0, 0.25, seconds(4.0));
    folder.write("mono.wav", &vec![tone.clone()]);
    folder.write("left.wav", &vec![tone.clone(), silence(tone.len())]);
    folder.write("both.wav", &vec![tone.clone(), tone]);
    let lufs = |name| number(&measured(&folder, name)["integrated_lufs"]);
    let (mono, left, both) = (lufs("mono.wav"), lufs("left.wav"), lufs("both.wav"));
    assert!((mono - left - 3.01).abs() < 0.005, "{mono} {left}");
    assert!((mono - both).abs() < 1e-9, "{mono} {both}");
}

/// An independent library agrees on loudness, and the definition on the peak.
/// Away from 48 kHz the standard leaves the filters' redesign open, which noise
/// up to half the rate shows.
#[test]
fn loudness_is_that_of_the_library() {
    let folder = Folder::new();
    let steps: Vec<f64> = noise(5, seconds(6.0))
        .iter()
        .enumerate()
        .map(|(n, x)| x * if n < seconds(3.0) { 0.02 } else { 0.4 })
        .collect();
    let sounds: [(&str, Sound, u32); 3] = [
        ("stepped.wav", vec![rounded(steps)], RATE_HZ),
        ("wide.wav", pad(0.6, seconds(5.0)), 44_100),
        (
            "uneven.wav",
            vec![noise(6, seconds(5.0)), sine(60.0, 0.3, seconds(5.0))],
            96_000,
        ),
    ];
    for (name, sound, rate_hz) in sounds {
        write_at(&folder.path(name), &sound, rate_hz);
        let file = measured(&folder, name);
        let (ours, library) = (
            number(&file["integrated_lufs"]),
            library_lufs(&sound, rate_hz),
        );
        assert!((ours - library).abs() < 0.05, "{name}: {ours} {library}");
        let peak = number(&file["sample_peak_dbfs"]);
        assert!((peak - peak_dbfs(&sound)).abs() < 1e-6, "{name}: {peak}");
    }
}

#[test]
fn a_bad_file_does_not_stop_the_others() {
    let folder = Folder::new();
    folder.write("good.wav", &vec![sine(440.0, 0.5, seconds(1.0))]);
    fs::write(
        folder.path("bad.wav"),
        b"no audio at all, whatever it is called",
    )
    .unwrap();
    fs::write(folder.path("empty.wav"), b"").unwrap();
    let whole = folder.path("gone.wav").display().to_string();
    let names = [
        "measure",
        "bad.wav",
        "good.wav",
        "empty.wav",
        &whole,
        "--json",
    ];
    let run = folder.run(&names).expect(3);
    let document = run.json();
    let files = &document["files"];
    assert_eq!(
        column(files, "file"),
        ["bad.wav", "good.wav", "empty.wav", "gone.wav"]
    );
    assert!(files[1]["error"].is_null());
    assert!(number(&files[1]["integrated_lufs"]) < 0.0);
    for bad in [0, 2, 3] {
        for field in PROMISED {
            assert!(files[bad].get(field).is_some(), "{field} of {bad}");
        }
        let name = files[bad]["file"].as_str().unwrap();
        let error = files[bad]["error"].as_str().unwrap();
        assert!(
            error.starts_with(&format!("cannot read `{name}`: ")),
            "{error}"
        );
        assert!(files[bad]["hint"].is_string(), "{error}");
        assert!(
            run.talk.contains(&format!("error: {error}\nhint: ")),
            "{}",
            run.talk
        );
    }
    let text = folder.run(&["measure", "bad.wav", "good.wav"]).expect(3);
    assert!(text.out.contains("good.wav") && !text.out.contains("bad.wav"));
}

#[test]
fn exit_codes() {
    let folder = Folder::new();
    folder.write("good.wav", &vec![sine(440.0, 0.5, seconds(1.0))]);
    let quiet = folder.run(&["measure", "good.wav"]).expect(0);
    assert_eq!(quiet.talk, "");
    folder.run(&["measure", "gone.wav"]).expect(1);
    folder.run(&["measure"]).expect(2);
    folder.run(&["measure", "good.wav", "--what"]).expect(2);
    folder.run(&["measure", "good.wav", "gone.wav"]).expect(3);
}

#[test]
fn a_folder_is_no_file() {
    let run = Folder::of_four().run(&["measure", "."]).expect(1);
    assert!(
        run.talk.starts_with("error: cannot read `.`: "),
        "{}",
        run.talk
    );
    assert!(
        run.talk.contains("hint: name the files in it"),
        "{}",
        run.talk
    );
}

#[test]
fn more_than_two_channels_are_an_error() {
    let folder = Folder::new();
    let mut bytes = crate::support::riff_16(&[], &[0; 600]);
    // The number of channels stands at byte 22.
    bytes[22] = 3;
    fs::write(folder.path("three.wav"), bytes).unwrap();
    let run = folder.run(&["measure", "three.wav"]).expect(1);
    assert!(
        run.talk
            .contains("it has 3 channels, one or two are allowed"),
        "{}",
        run.talk
    );
}

/// The same bytes with one thread and four, from nothing and from the cache.
#[test]
fn the_answer_is_always_the_same() {
    let folder = Folder::of_four();
    let run = |threads: &str, cache: &str| {
        let cache = folder.beside(cache);
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_cupel"));
        command
            .current_dir(folder.path(""))
            .env("RAYON_NUM_THREADS", threads);
        command.args(["measure", "--json", "--cache"]).arg(cache);
        command.args(Folder::four().map(|(name, _)| name));
        let output = command.output().unwrap();
        assert!(output.status.success());
        output.stdout
    };
    let first = run("1", "one");
    assert!(!first.is_empty());
    assert!(first == run("4", "four"), "threads change it");
    assert!(first == run("4", "one"), "the cache changes it");
}

#[test]
fn unusable_samples_are_said() {
    let folder = Folder::new();
    let mut tone = sine(440.0, 0.5, seconds(4.0));
    tone[1000] = f64::NAN;
    tone[2000] = f64::INFINITY;
    folder.write("odd.wav", &vec![tone]);
    let file = measured(&folder, "odd.wav");
    assert!(number(&file["integrated_lufs"]) < 0.0, "{file:#}");
    assert!(number(&file["sample_peak_dbfs"]) < -5.9);
    assert!(health_codes(&file).contains(&"non-finite"), "{file:#}");
}

/// A command that could not be done says so in JSON too.
#[test]
fn a_failure_is_a_document() {
    let folder = crate::support::Folder::new();
    let run = folder.run(&["assay", "nowhere", "--json"]).expect(1);
    let document: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(document["schema"], "cupel/failure");
    assert!(
        document["error"].as_str().unwrap().contains("nowhere"),
        "{document}"
    );
}
