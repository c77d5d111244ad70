//! `cupel assay`: what the session measures beside the reference.

use std::fs;

use serde_json::Value;

use crate::support::{
    Folder, RATE_HZ, Sound, column, find, library_lufs, number, peak_dbfs, sine, sum, write_at,
};

fn mix_of_four() -> Sound {
    let four = Folder::four().map(|(_, sound)| sound);
    sum(&four.iter().collect::<Vec<_>>())
}

#[test]
fn the_document_has_its_shape() {
    let folder = Folder::with_reference();
    let document = folder.json(&["assay"]);
    assert_eq!(document["schema"], "cupel/assay");
    assert_eq!(document["version"], 1);
    assert_eq!(document["trust"]["verdict"], "untested");
    assert_eq!(document["trust"]["can_judge_balance"], true);
    assert_eq!(
        column(&document["tracks"], "id"),
        ["kick", "bass", "hats", "pad"]
    );
    for track in document["tracks"].as_array().unwrap() {
        for field in [
            "file",
            "integrated_lufs",
            "sample_peak_dbfs",
            "lean_db",
            "passage_lufs",
        ] {
            assert!(!track[field].is_null(), "{field} of {track:#}");
        }
    }
    assert_eq!(document["reference"]["file"], "../record.wav");
    // One-third octaves from 20 Hz to 20 kHz are 31 (IEC 61260-1, annex E).
    assert_eq!(document["bands"].as_array().unwrap().len(), 31);
    assert!(
        document["distance"]["spectrum_db"].is_number(),
        "{}",
        document["distance"]
    );
    assert_eq!(document["session"]["targets"]["kick_peak_dbfs"], -12.0);
    assert!(folder.path("cupel/report.html").exists());
}

/// The sum is that of the files: loudness by an independent library.
#[test]
fn the_sum_measures_what_it_is() {
    let folder = Folder::with_reference();
    let document = folder.json(&["assay"]);
    let (mix, kick) = (mix_of_four(), &Folder::four()[0].1);
    let session = &document["session"];
    let check = |value: &Value, expected: f64, within: f64| {
        assert!(
            (number(value) - expected).abs() < within,
            "{value} {expected}"
        );
    };
    check(
        &session["integrated_lufs"],
        library_lufs(&mix, RATE_HZ),
        0.01,
    );
    check(&session["sample_peak_dbfs"], peak_dbfs(&mix), 1e-6);
    check(&session["kick_peak_dbfs"], peak_dbfs(kick), 1e-6);
    assert_eq!(session["kick"]["tracks"], serde_json::json!(["kick"]));
    assert_eq!(session["kick"]["found_by"], "role");
    let reference = library_lufs(&Folder::reference(), RATE_HZ);
    check(&document["reference"]["integrated_lufs"], reference, 0.01);
}

/// The hats are 4 dB softer against the kick than in the reference (made so),
/// the pad 5 dB louder: the bands they own must say it, to within what others
/// add there.
#[test]
fn bands_show_what_is_off() {
    let document = Folder::with_reference().json(&["assay"]);
    let at = |hertz: f64| {
        let bands = document["bands"].as_array().unwrap();
        let band = bands.iter().find(|b| b["nominal_hz"] == hertz).unwrap();
        number(&band["difference_db"])
    };
    assert!(at(12_500.0) < -2.0, "{}", at(12_500.0));
    assert!(at(800.0) > 2.0, "{}", at(800.0));
    assert!(at(800.0) - at(12_500.0) > 7.0);
}

#[test]
fn a_second_run_says_the_same() {
    let folder = Folder::with_reference();
    let run = || folder.run(&["assay", "--json"]).expect(0).out;
    let cold = run();
    let session = folder.session();
    assert!(cold == run(), "warm differs from cold");
    assert_eq!(folder.session(), session);
    let mut command = folder.command(&["assay", "--json"]);
    command.env("RAYON_NUM_THREADS", "1");
    fs::remove_dir_all(folder.cache()).unwrap();
    let one = command.output().unwrap();
    assert!(cold.as_bytes() == one.stdout, "one thread differs");
}

#[test]
fn a_missing_reference_is_named_with_the_mend() {
    let folder = Folder::with_reference();
    fs::remove_file(folder.beside("record.wav")).unwrap();
    for command in ["assay", "balance", "render", "open"] {
        let run = folder.run(&[command]).expect(1);
        assert_eq!(
            run.talk,
            "error: cannot find the reference `../record.wav` that the session names\n\
             hint: put the file back, or name another: cupel open FOLDER --reference FILE\n",
            "{command}"
        );
    }
    assert!(!folder.path("cupel/premaster.wav").exists());
}

#[test]
fn without_a_reference_there_is_an_answer() {
    let folder = Folder::of_four();
    let document = folder.json(&["assay"]);
    assert!(document["reference"].is_null());
    assert!(document["distance"].is_null());
    assert!(number(&document["session"]["passage_lufs"]) < 0.0);
    let moves = folder.json(&["balance"])["moves"].clone();
    assert_eq!(column(&moves, "kind"), ["trim"]);
}

/// The session's rate is that of most tracks; the other is brought to it.
#[test]
fn mixed_rates_meet_at_that_of_most() {
    let folder = Folder::of_four();
    let frames = 44_100 * 6;
    let step = std::f64::consts::TAU * 1000.0 / 44_100.0;
    let tone = (0..frames)
        .map(|n| 0.2 * (step * f64::from(n)).sin())
        .collect();
    write_at(&folder.path("05 Lead.wav"), &vec![tone], 44_100);
    let document = folder.json(&["assay"]);
    assert_eq!(document["session"]["sample_rate_hz"], RATE_HZ);
    assert_eq!(
        find(&document["tracks"], "id", "lead")["sample_rate_hz"],
        44_100
    );
    assert!(
        document["notes"].to_string().contains("05 Lead.wav"),
        "{}",
        document["notes"]
    );
    folder.run(&["render"]).expect(0);
    let (mix, rate_hz) = crate::support::read(&folder.path("cupel/premaster.wav"));
    assert_eq!((mix[0].len(), rate_hz), (6 * RATE_HZ as usize, RATE_HZ));
    // What is left when the four are taken away is the tone at the new rate.
    let tone = sine(1000.0, 0.2, mix[0].len());
    let four = mix_of_four();
    let inner = 4800..mix[0].len() - 4800;
    let error: f64 = inner
        .clone()
        .map(|n| (mix[0][n] - four[0][n] - tone[n]).powi(2))
        .sum::<f64>()
        / inner.len() as f64;
    // A delay of a tenth of a sample would leave -37 dB of the tone.
    assert!(10.0 * error.log10() < -90.0, "{}", 10.0 * error.log10());
}

#[test]
fn a_broken_track_is_left_out_and_named() {
    let folder = Folder::with_reference();
    fs::write(folder.path("02 Bass.wav"), b"RIFF\x10\0\0\0WAVEjunk").unwrap();
    let whole = folder.path("").display().to_string();
    let run = folder.run(&["assay", &whole, "--json"]).expect(3);
    let document = run.json();
    assert_eq!(column(&document["problems"], "file"), ["02 Bass.wav"]);
    assert!(find(&document["tracks"], "id", "bass")["integrated_lufs"].is_null());
    assert!(number(&document["session"]["integrated_lufs"]) < 0.0);
    let report = fs::read_to_string(folder.path("cupel/report.html")).unwrap();
    assert!(report.contains("02 Bass.wav"));
    assert!(!report.contains(&whole), "an absolute path in the report");
    assert!(
        !run.out.contains(&whole),
        "an absolute path in the document"
    );
}

#[test]
fn no_usable_track_is_an_error() {
    let folder = Folder::new();
    fs::write(folder.path("a.wav"), b"nothing").unwrap();
    let run = folder.run(&["assay"]).expect(1);
    assert!(
        run.talk.contains("none of the 1 audio file"),
        "{}",
        run.talk
    );
    assert!(run.talk.contains("hint: "), "{}", run.talk);
}
