//! The words and figures of the page.

use cupel_report::{FileNote, FileNotes, LeftOut, MoveView, NoteWeight, Report, TrackView, page};

use crate::markup::{Element, named, read, text_of};
use crate::sample;

const HOSTILE: &str = "<b>&\"' </title></svg><script>alert(1)</script>";

/// Cells of the table row that begins with `name`.
fn row<'a>(elements: &'a [Element], name: &str) -> Vec<&'a str> {
    let is_head = |one: &Element| one.name == "th" && one.text.starts_with(name);
    let head = elements.iter().find(|one| is_head(one)).expect(name);
    let row = *head
        .around
        .last()
        .expect("present in the sample and the page");
    let cells = elements
        .iter()
        .filter(|one| one.name == "td" && one.around.last() == Some(&row));
    cells.map(|cell| cell.text.as_str()).collect()
}

#[test]
fn hostile_names_stay_words() {
    let mut report = sample::report();
    report.title = HOSTILE.into();
    report.next = HOSTILE.into();
    report.reference = Some(HOSTILE.into());
    report.tracks[3].name = HOSTILE.into();
    report.moves[1].target = HOSTILE.into();
    report.moves[1].why = format!("`{HOSTILE}` masks it");
    report.trust.left_out = vec![LeftOut {
        track: HOSTILE.into(),
        why: HOSTILE.into(),
    }];
    report.files[2].file = HOSTILE.into();
    report.lean.as_mut().unwrap().rows[0].name = HOSTILE.into();
    for band in &mut report.spectrum.as_mut().unwrap().bands {
        band.owners[1].track = HOSTILE.into();
    }
    report.loudness.as_mut().unwrap().sections[4].label = HOSTILE.into();
    let page = page(&report);
    let elements = read(&page); // panics where a name closed an element
    assert!(named(&elements, "script").is_empty() && named(&elements, "b").is_empty());
    assert_eq!(named(&elements, "h1")[0].text, HOSTILE);
    assert!(text_of(&elements, "tracks").contains(HOSTILE));
    assert!(!page.contains("<script"));
}

#[test]
fn measures_stand_side_by_side_with_units() {
    let elements = read(&page(&sample::report()));
    assert_eq!(
        row(&elements, "Loudness of the passage, LUFS"),
        ["-15.6", "-18.1", "-8.6", ""]
    );
    assert_eq!(
        row(&elements, "Width above 2 kHz, dB"),
        ["-7.1", "-8.0", "-6.2", "farther"]
    );
    assert_eq!(
        row(&elements, "Low end, distance, dB"),
        ["3.4", "0.8", "0.0", "nearer"]
    );
    assert_eq!(row(&elements, "above 2 kHz"), ["-22.6"]);
}

#[test]
fn track_figures_carry_their_sign() {
    let elements = read(&page(&sample::report()));
    let kick = row(&elements, "Kick");
    assert_eq!(
        kick,
        [
            "-17.2", "-6.2", "-6.0", "0.0", "-90.0", "-0.1", "90", "58", "0.0"
        ]
    );
    assert_eq!(row(&elements, "Clap wide")[3], "+0.4");
    assert_eq!(row(&elements, "Clap wide")[8], "+1.5");
}

#[test]
fn without_a_reference_no_column_is_empty() {
    let mut report = sample::report();
    for row in &mut report.standing {
        (row.reference, row.after) = (None, None);
    }
    let elements = read(&page(&report));
    assert_eq!(row(&elements, "Sample peak, dBFS"), ["-0.4"]);
}

#[test]
fn moves_are_sorted_and_parted_and_have_boxes() {
    let step = |order: usize, target: &str, on: bool| MoveView {
        order,
        target: target.into(),
        in_words: "fader -2.5 dB".into(),
        on,
        ..MoveView::default()
    };
    let report = Report {
        moves: vec![
            step(3, "Pad", true),
            step(2, "Hat", false),
            step(1, "Kick", true),
        ],
        ..Report::default()
    };
    let elements = read(&page(&report));
    let labels: Vec<&str> = named(&elements, "label")
        .iter()
        .map(|one| one.text.as_str())
        .collect();
    assert_eq!(
        labels,
        [
            "Kick: fader -2.5 dB",
            "Pad: fader -2.5 dB",
            "Hat: fader -2.5 dB"
        ]
    );
    let boxes = named(&elements, "input");
    assert_eq!(boxes.len(), 3);
    for tick in boxes {
        assert_eq!(tick.attribute("type"), Some("checkbox"));
        assert_eq!(tick.attribute("checked"), None);
    }
    assert!(text_of(&elements, "moves").contains("switched off"));
}

#[test]
fn a_hand_s_locked_move_is_said_to_be_so() {
    let elements = read(&page(&sample::report()));
    let moves = text_of(&elements, "moves");
    assert_eq!(moves.matches("set by hand, locked").count(), 1);
}

#[test]
fn faults_stand_before_remarks_and_the_healthy_are_one_line() {
    let note = |weight, text: &str| FileNote {
        weight,
        text: text.into(),
        mend: None,
    };
    let file = |name: &str, notes| FileNotes {
        file: name.into(),
        facts: String::new(),
        notes,
    };
    let report = Report {
        files: vec![
            file("a.wav", vec![note(NoteWeight::Remark, "flat tops")]),
            file("b.wav", vec![]),
            file("c.wav", vec![note(NoteWeight::Fault, "cut short")]),
            file("d.wav", vec![]),
        ],
        ..Report::default()
    };
    let health = text_of(&read(&page(&report)), "health");
    assert!(health.find("Fault: cut short").unwrap() < health.find("flat tops").unwrap());
    assert!(health.contains("Nothing found in the others: b.wav, d.wav."));
}

#[test]
fn remarks_on_a_track_are_told() {
    let track = TrackView {
        name: "Sub".into(),
        notes: vec!["Only below 90 Hz.".into()],
        ..TrackView::default()
    };
    let report = Report {
        tracks: vec![track],
        ..Report::default()
    };
    assert!(text_of(&read(&page(&report)), "tracks").contains("Sub: Only below 90 Hz."));
}

#[test]
fn the_foot_says_turn_down_first() {
    let elements = read(&page(&sample::report()));
    let foot = &named(&elements, "footer")[0].text;
    for words in [
        "10 dB louder",
        "Turn down first",
        "Local rules",
        "licensed professionals",
    ] {
        assert!(foot.contains(words), "{words}");
    }
}

#[test]
fn music_and_layers_stand_side_by_side() {
    let elements = read(&page(&sample::report()));
    let text = text_of(&elements, "music");
    for words in [
        "124.00 BPM",
        "E minor or G major (not sure)",
        "only in the reference",
        "shaker in sixteenths, right",
    ] {
        assert!(text.contains(words), "`{words}` is not on the page");
    }
}
