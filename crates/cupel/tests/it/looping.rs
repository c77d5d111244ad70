//! `cupel loop`: the reference at the session's tempo.

use crate::support::{Folder, library_lufs, number, read};

/// A made session of a minute with its reference, opened.
fn demo(folder: &Folder, more: &[&str]) {
    let mut words = vec![
        "demo",
        "made",
        "--seed",
        "7",
        "--seconds",
        "60",
        "--only-make",
    ];
    words.extend(more);
    folder.run(&words).expect(0);
    let open = ["open", "made/tracks", "--reference", "made/reference.wav"];
    folder.run(&open).expect(0);
}

/// Both files are of one length and one loudness; each bar of the loop lasts what a bar
/// of the session does.
#[test]
fn both_passages_are_alike_in_length_and_loudness() {
    let folder = Folder::new();
    demo(&folder, &[]);
    let document = folder.json(&["loop", "made/tracks"]);
    let (session, rate_hz) = read(&folder.path("made/tracks/cupel/loop/session.wav"));
    let (reference, _) = read(&folder.path("made/tracks/cupel/loop/reference.wav"));
    assert_eq!(session[0].len(), reference[0].len());
    let side = &document["session"];
    let wanted_s =
        number(&side["bars"]) * number(&side["beats_per_bar"]) * 60.0 / number(&side["tempo_bpm"]);
    let seconds = session[0].len() as f64 / f64::from(rate_hz);
    assert!(
        (seconds - wanted_s).abs() < 0.001,
        "{seconds} s, not {wanted_s} s"
    );
    let (own, other) = (
        library_lufs(&session, rate_hz),
        library_lufs(&reference, rate_hz),
    );
    // Equal unless peaks were in the way, which the notes then say.
    let notes = document["notes"].to_string();
    assert!(
        (own - other).abs() < 0.1 || notes.contains("quieter"),
        "{own} {other} {notes}"
    );
    let peak_dbtp = number(&document["reference"]["true_peak_dbtp"]);
    assert!(peak_dbtp <= -0.9, "{peak_dbtp} dBTP");
    assert_eq!(number(&document["transposed_semitones"]), 0.0);
}

/// With the key asked for it is transposed by three semitones at most, or it is said
/// why not.
#[test]
fn the_key_is_met_or_it_is_said_why_not() {
    let folder = Folder::new();
    demo(&folder, &[]);
    let document = folder.json(&["loop", "made/tracks", "--key", "session"]);
    let semitones = number(&document["transposed_semitones"]);
    assert!(semitones.abs() <= 3.0 && semitones.fract() == 0.0);
    let said = document["notes"].to_string().contains("not transposed");
    assert!(!(said && semitones != 0.0), "{document:#}");
}

#[test]
fn without_a_reference_it_says_how_to_name_one() {
    let folder = Folder::of_four();
    folder.run(&["open", "."]).expect(0);
    let run = folder.run(&["loop"]).expect(1);
    assert!(
        run.talk.contains("no reference") && run.talk.contains("--reference"),
        "{}",
        run.talk
    );
}
