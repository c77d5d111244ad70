//! That the marks lie where the numbers say.

use cupel_report::*;

use crate::markup::{Element, in_drawing, read, text_of};

/// Numbers of the paths of one class inside a drawing, path by path.
pub fn paths(elements: &[&Element], class: &str) -> Vec<Vec<f64>> {
    let of_class = elements
        .iter()
        .filter(|one| one.name == "path" && one.has_class(class));
    of_class
        .map(|one| {
            let numbers = one
                .attribute("d")
                .expect("present in the sample and the page");
            let pieces = numbers.split(|c: char| c.is_ascii_alphabetic() || c == ' ');
            pieces
                .filter(|piece| !piece.is_empty())
                .map(|piece| piece.parse().expect("present in the sample and the page"))
                .collect()
        })
        .collect()
}

pub fn texts<'a>(elements: &[&'a Element]) -> Vec<&'a str> {
    let texts = elements.iter().filter(|one| one.name == "text");
    texts.map(|one| one.text.as_str()).collect()
}

fn band(hertz: f64, before: f64, after: Option<f64>, reference: f64) -> SpectrumBand {
    SpectrumBand {
        low_hz: hertz / 1.1,
        high_hz: hertz * 1.1,
        before_db: Some(before),
        after_db: after,
        reference_db: Some(reference),
        owners: vec![],
    }
}

fn spectrum(bands: Vec<SpectrumBand>) -> Report {
    let view = SpectrumView {
        title_sentence: String::new(),
        bands,
    };
    Report {
        spectrum: Some(view),
        ..Report::default()
    }
}

#[test]
fn a_tick_is_as_long_as_its_decibels() {
    let bands = vec![
        band(63.0, -17.0, Some(-17.0), -20.0),
        band(500.0, -20.0, Some(-26.0), -20.0),
        band(4000.0, -20.0, Some(-18.5), -20.0),
    ];
    let elements = read(&page(&spectrum(bands)));
    for id in ["difference-wide-t", "difference-narrow-t"] {
        let ticks = paths(&in_drawing(&elements, id), "tick");
        let lengths: Vec<f64> = ticks.iter().map(|tick| tick[1] - tick[3]).collect();
        assert_eq!(lengths.len(), 3);
        // Positive is upwards; 3 : -6 : 1.5, to the rounding of a tenth of a pixel.
        assert!(lengths[0] > 20.0, "{lengths:?}");
        assert!((lengths[1] + 2.0 * lengths[0]).abs() < 0.4, "{lengths:?}");
        assert!((lengths[2] - 0.5 * lengths[0]).abs() < 0.3, "{lengths:?}");
    }
    let heading = text_of(&elements, "difference");
    assert_eq!(
        heading,
        "The widest gap left is 6.0 dB below the reference at 500 Hz; before it was +3.0 dB at 63 Hz"
    );
}

#[test]
fn octaves_are_equally_wide() {
    let bands = [100.0, 200.0, 400.0].map(|hertz| band(hertz, -20.0, None, -23.0));
    let elements = read(&page(&spectrum(bands.to_vec())));
    let ticks = paths(&in_drawing(&elements, "difference-wide-t"), "tick");
    let octave = ticks[1][0] - ticks[0][0];
    assert!(octave > 40.0);
    assert!((ticks[2][0] - ticks[1][0] - octave).abs() < 0.2);
    assert_eq!(
        text_of(&elements, "difference"),
        "The mix is farthest from the reference at 100 Hz: +3.0 dB"
    );
}

#[test]
fn thickness_is_the_share() {
    let mut bands = vec![
        band(100.0, -20.0, None, -20.0),
        band(1000.0, -20.0, None, -20.0),
    ];
    let owner = |track: &str, share: f64| Owner {
        track: track.into(),
        share,
    };
    bands[0].owners = vec![owner("Bass", 0.8), owner("Pad", 0.2), owner("Air", 0.04)];
    bands[1].owners = vec![owner("Bass", 0.4), owner("Pad", 0.6)];
    let elements = read(&page(&spectrum(bands)));
    let drawing = in_drawing(&elements, "spectrum-wide-t");
    // Left, top, width, height, width again to close: first where it is largest.
    let largest = paths(&drawing, "mix-mark");
    let others = paths(&drawing, "mix-pale");
    assert_eq!(
        largest.iter().map(|one| one[3]).collect::<Vec<_>>(),
        [16.0, 12.0]
    );
    assert_eq!(
        others.iter().map(|one| one[3]).collect::<Vec<_>>(),
        [8.0, 4.0]
    );
    let texts = texts(&drawing);
    assert!(texts.contains(&"Bass") && texts.contains(&"Pad") && !texts.contains(&"Air"));
    assert!(
        text_of(&elements, "spectrum-wide-d").contains("Largest: Bass at 100 Hz; Pad at 1 kHz.")
    );
}

#[test]
fn notes_are_named_below_150_hz() {
    let elements = read(&page(&spectrum(vec![band(100.0, -20.0, None, -20.0)])));
    let drawing = in_drawing(&elements, "spectrum-wide-t");
    // C2 is 65.4 Hz (A4 = 440 Hz, equal temperament), between 50 Hz and 100 Hz.
    let x = |text: &str| -> f64 {
        let found = drawing
            .iter()
            .find(|one| one.name == "text" && one.text == text)
            .expect(text);
        found.attribute("x").unwrap().parse().unwrap()
    };
    let expected = x("50 Hz") + (x("100 Hz") - x("50 Hz")) * (65.406f64 / 50.0).log2();
    assert!((x("C2") - expected).abs() < 0.2);
}

#[test]
fn the_passage_lies_in_its_place() {
    let view = LoudnessView {
        hop_s: 1.0,
        before: vec![Some(-20.0); 100],
        passage_s: Some((25.0, 50.0)),
        ..LoudnessView::default()
    };
    let report = Report {
        loudness: Some(view),
        ..Report::default()
    };
    let elements = read(&page(&report));
    let drawing = in_drawing(&elements, "loudness-wide-t");
    let zero: f64 = 132.0; // left of the field
    let full = 694.0 - zero;
    let passage = &paths(&drawing, "pale")[1]; // the key is the first
    assert!(
        (passage[0] - (zero + 0.25 * full)).abs() < 0.1,
        "{passage:?}"
    );
    assert!((passage[2] - 0.25 * full).abs() < 0.1, "{passage:?}");
    assert_eq!(
        text_of(&elements, "loudness"),
        "The passage looked at runs from 0:25 to 0:50"
    );
}

#[test]
fn levels_are_named_from_the_numbers() {
    let track = |name: &str, lufs: f64, peak: f64| TrackView {
        name: name.into(),
        integrated_lufs: Some(lufs),
        sample_peak_dbfs: Some(peak),
        ..TrackView::default()
    };
    let tracks = vec![track("Kick", -18.0, -6.0), track("Pad", -30.0, -12.0)];
    let elements = read(&page(&Report {
        tracks,
        ..Report::default()
    }));
    assert_eq!(
        text_of(&elements, "levels"),
        "Kick peaks highest, at -6.0 dBFS"
    );
    let lines = paths(&in_drawing(&elements, "levels-wide-t"), "tick");
    let lengths: Vec<f64> = lines.iter().map(|line| line[2] - line[0]).collect();
    assert!(
        (lengths[1] / lengths[0] - 1.5).abs() < 0.01,
        "12 dB and 18 dB: {lengths:?}"
    );
}

#[test]
fn the_beam_tells_left_from_right() {
    let row = |name: &str, before_db, after_db| LeanRow {
        name: name.into(),
        before_db,
        after_db,
    };
    let lean = LeanView {
        sentence: String::new(),
        rows: vec![
            row("Hat", Some(6.0), Some(3.0)),
            row("Toms", Some(-6.0), None),
            row("Blip", Some(f64::NEG_INFINITY), None),
        ],
        mix: Some(row("Whole mix", Some(0.1), None)),
        reference_db: Some(-0.5),
    };
    let elements = read(&page(&Report {
        lean: Some(lean),
        ..Report::default()
    }));
    assert_eq!(
        text_of(&elements, "lean"),
        "Blip leans most, all on the left; the whole mix: level"
    );
    let drawing = in_drawing(&elements, "lean-wide-t");
    let reach: Vec<f64> = paths(&drawing, "tick")
        .iter()
        .map(|tick| tick[2] - tick[0])
        .collect();
    assert!(
        (reach[1] + 2.0 * reach[0]).abs() < 0.3,
        "+3 dB and -6 dB: {reach:?}"
    );
    assert!(
        (reach[2] + 4.0 * reach[0]).abs() < 0.5,
        "held at 12 dB: {reach:?}"
    );
    let texts = texts(&drawing);
    for words in ["3.0 R", "6.0 L", "all L", "0.1 R", "0.5 L"] {
        assert!(texts.contains(&words), "{words}: {texts:?}");
    }
}
