//! That low end, peaks and path are drawn as large as their numbers, and that
//! the new parts say what they were told.

use cupel_report::*;

use crate::drawings::{paths, texts};
use crate::markup::{in_drawing, named, read, text_of};
use crate::sample;

#[test]
fn a_bar_is_as_long_as_its_share() {
    let row = |track: &str, share| PeakRow {
        track: track.into(),
        share,
        before: None,
    };
    let view = PeaksView {
        seconds: 100.0,
        peaks: vec![
            PeakMark {
                time_s: 25.0,
                level_dbfs: -3.0,
                largest: "Kick".into(),
            },
            PeakMark {
                time_s: 75.0,
                level_dbfs: -2.5,
                largest: "Clap".into(),
            },
        ],
        rows: vec![
            row("Bass", 0.3),
            row("Kick", 0.6),
            row("Pad", -0.06),
            row("Hat", 0.004),
        ],
        ..PeaksView::default()
    };
    let elements = read(&page(&Report {
        peaks: Some(view),
        ..Report::default()
    }));
    for id in ["peaks-wide-t", "peaks-narrow-t"] {
        let drawing = in_drawing(&elements, id);
        // Left, top, width, height, width: the key, then the rows by share.
        let boxes: Vec<Vec<f64>> = paths(&drawing, "mix-mark").split_off(1);
        assert_eq!(boxes.len(), 3);
        assert!((boxes[0][2] / boxes[1][2] - 2.0).abs() < 0.01, "{boxes:?}");
        // The one that takes away ends where the others begin.
        let zero = boxes[0][0];
        assert!((boxes[2][0] + boxes[2][2] - zero).abs() < 0.2, "{boxes:?}");
        assert!((boxes[0][2] / boxes[2][2] - 10.0).abs() < 0.2, "{boxes:?}");
        let dots: Vec<f64> = drawing
            .iter()
            .filter(|one| one.name == "circle" && one.attribute("r") == Some("2.6"))
            .map(|one| one.attribute("cx").unwrap().parse().unwrap())
            .collect();
        let field = if id.contains("wide") { 562.0 } else { 288.0 };
        assert!((dots[1] - dots[0] - 0.5 * field).abs() < 0.2, "{dots:?}");
    }
    assert_eq!(
        text_of(&elements, "peaks"),
        "Kick and Bass make 90 percent of the 2 highest peaks"
    );
    let text = text_of(&elements, "peaks-wide-d");
    // 20 log10(1 - 0.6) = -7.96 dB.
    assert!(text.contains("Without Kick these peaks would be 8.0 dB lower."));
    assert!(text.contains("The highest is -2.5 dBFS at 1:15.0, mostly Clap."));
    assert!(text.contains("1 track adds less than 1 percent."));
}

#[test]
fn low_notes_stand_where_they_are_played() {
    let note = |midi, mix_db, reference_db| LowNoteBand {
        midi,
        mix_db: Some(mix_db),
        reference_db: Some(reference_db),
        owners: vec![],
    };
    let line = |midi, kick_hz| LowLine {
        span_s: (0.0, 8.0),
        bar_starts_s: vec![0.0, 4.0],
        notes: vec![PlayedNote {
            start_s: 2.0,
            end_s: 4.0,
            midi,
            level_db: -20.0,
        }],
        kicks_s: vec![0.0, 2.0, 4.0, 6.0],
        kick_hz: Some(kick_hz),
    };
    let view = LowEndView {
        sentence: String::new(),
        notes: vec![
            note(32, -30.0, -36.0),
            note(33, -20.0, -26.0),
            note(34, -30.0, -36.0),
        ],
        mix: Some(line(33, 55.0)),
        reference: Some(line(34, 55.0)),
    };
    let elements = read(&page(&Report {
        low_end: Some(view),
        ..Report::default()
    }));
    assert_eq!(
        text_of(&elements, "low-notes"),
        "The low end lies 6.0 dB above the reference's; it peaks at A1, the reference's at A1"
    );
    let drawing = in_drawing(&elements, "low-notes-wide-t");
    let centre = |class: &str| -> (f64, f64) {
        let disc = drawing
            .iter()
            .find(|one| one.name == "circle" && one.has_class(class))
            .expect(class);
        let at = |key| disc.attribute(key).unwrap().parse().unwrap();
        (at("cx"), at("cy"))
    };
    let mix_line = &paths(&drawing, "mix-line")[1]; // the key is the first
    let reference_line = &paths(&drawing, "reference-line")[1];
    // A1 = 33 is the second of three, A#1 the third.
    assert_eq!(centre("mix-mark"), (mix_line[2], mix_line[3]));
    assert_eq!(
        centre("reference-mark"),
        (reference_line[4], reference_line[5])
    );
    // 10 dB and 6 dB on one scale.
    let (ten, six) = (mix_line[1] - mix_line[3], reference_line[3] - mix_line[3]);
    assert!((ten / six - 10.0 / 6.0).abs() < 0.02, "{ten} {six}");
    // A kick at 55 Hz, A1 (A4 = 440 Hz less three octaves), stands on A1.
    let kick = &paths(&drawing, "tick")[0];
    assert!((kick[0] - mix_line[2]).abs() < 0.2);

    assert_eq!(
        text_of(&elements, "low-line"),
        "The bass sounds under 1 of 4 kicks; in the reference under 1 of 4 kicks"
    );
    let drawing = in_drawing(&elements, "low-line-wide-t");
    let note = &paths(&drawing, "mix-mark")[1];
    // A quarter of the field, from its quarter on, with a pixel to the next.
    assert!((note[0] - (132.0 + 0.25 * 562.0)).abs() < 0.2, "{note:?}");
    assert!((note[2] - (0.25 * 562.0 - 1.0)).abs() < 0.2, "{note:?}");
    assert!(texts(&drawing).contains(&"A1") && texts(&drawing).contains(&"A#1"));
}

#[test]
fn the_path_falls_as_far_as_its_numbers() {
    let part = |name: &str, start, steps: Vec<f64>| PathPart {
        name: name.into(),
        unit: "dB".into(),
        start,
        end: *steps.last().unwrap(),
        steps,
    };
    let view = PathView {
        parts: vec![
            part("bar map", 4.0, vec![2.0, 1.0]),
            part("width", 1.0, vec![1.0, 1.5]),
        ],
        steps: vec!["Bass".into(), "Clap".into()],
    };
    let elements = read(&page(&Report {
        path: Some(view),
        ..Report::default()
    }));
    let drawing = in_drawing(&elements, "path-wide-t");
    let lines = paths(&drawing, "mix-line");
    let zeros = paths(&drawing, "zero");
    let heights = |index: usize| -> Vec<f64> {
        let zero = zeros[index][1];
        let ys = lines[index + 1].chunks(4).map(|pair| zero - pair[1]);
        ys.collect()
    };
    let bar_map = heights(0);
    assert!((bar_map[0] / bar_map[2] - 4.0).abs() < 0.05, "{bar_map:?}");
    let width = heights(1);
    assert!((width[2] / width[0] - 1.5).abs() < 0.02, "{width:?}");
    assert_eq!(
        text_of(&elements, "path"),
        "1 of 2 parts of the distance fall; Bass does most of it"
    );
    let text = text_of(&elements, "path-wide-d");
    assert!(text.contains("bar map 4.0 to 1.0 dB, 2.0 of it by Bass; width 1.0 to 1.5 dB."));
    assert!(texts(&drawing).contains(&"1 = Bass, 2 = Clap"));
}

#[test]
fn what_no_fader_mends_names_its_cause() {
    let elements = read(&page(&sample::report()));
    let words = text_of(&elements, "unmended");
    for expected in ["-8.0 dB", "40 Hz, Sub sound", "7 kHz to 11 kHz arrangement"] {
        assert!(words.contains(expected), "{expected}: {words}");
    }
}

#[test]
fn large_moves_are_named_and_stages_said_once() {
    let step = |order, stage: &str, large| MoveView {
        order,
        stage: stage.into(),
        large,
        on: true,
        target: "Pad".into(),
        in_words: "fader +13.0 dB".into(),
        ..MoveView::default()
    };
    let elements = read(&page(&Report {
        moves: vec![
            step(1, "core", false),
            step(2, "core", true),
            step(3, "rest", false),
        ],
        ..Report::default()
    }));
    let stages: Vec<&str> = named(&elements, "p")
        .iter()
        .filter(|one| one.has_class("stage"))
        .map(|one| one.text.as_str())
        .collect();
    assert_eq!(stages, ["Core", "Rest"]);
    let words = text_of(&elements, "moves");
    assert_eq!(words.matches("A large move").count(), 1);
}

#[test]
fn numbers_that_are_none_leave_the_new_drawings_whole() {
    for wrong in [f64::NAN, f64::INFINITY, -1e300, 1e300] {
        let mut report = sample::report();
        let low = report.low_end.as_mut().unwrap();
        for note in low.notes.iter_mut().step_by(2) {
            (note.mix_db, note.reference_db) = (Some(wrong), Some(wrong));
            note.owners[0].share = wrong;
        }
        let line = low.mix.as_mut().unwrap();
        (line.kick_hz, line.kicks_s[1]) = (Some(wrong), wrong);
        (line.notes[0].start_s, line.notes[1].level_db) = (wrong, wrong);
        low.reference.as_mut().unwrap().span_s.1 = wrong;
        let peaks = report.peaks.as_mut().unwrap();
        (peaks.peaks[0].time_s, peaks.peaks[1].level_dbfs) = (wrong, wrong);
        (peaks.rows[0].share, peaks.rows[1].before) = (wrong, Some(wrong));
        let path = report.path.as_mut().unwrap();
        (path.parts[0].steps[1], path.parts[1].start) = (wrong, wrong);
        let page = page(&report);
        assert!(page.len() < 1_000_000);
        for element in read(&page) {
            for (key, value) in &element.attributes {
                assert!(
                    !value.contains("NaN") && !value.contains("inf"),
                    "{key}={value}"
                );
            }
        }
        let elements = read(&page);
        let words = &named(&elements, "body")[0].text;
        assert!(!words.contains("NaN") && !words.contains("inf"), "{wrong}");
    }
}
