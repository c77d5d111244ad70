//! That a bar map's marks are as large as their numbers.

use cupel_report::*;

use crate::drawings::{paths, texts};
use crate::markup::{in_drawing, named, read, text_of};

fn owner(track: &str, share: f64) -> Option<Owner> {
    Some(Owner {
        track: track.into(),
        share,
    })
}

/// Two rows of a 4/4 bar: a band, and a bass note below it.
fn view() -> BarMapView {
    let mut band = BarMapRow {
        label: "1.1 kHz".into(),
        mix_db: vec![None; 16],
        reference_db: vec![None; 16],
        difference_db: vec![None; 16],
        whole_db: Some(-4.2),
        ..BarMapRow::default()
    };
    (band.mix_db[0], band.mix_db[4]) = (Some(-20.0), Some(-32.0));
    (band.reference_db[0], band.reference_db[4]) = (Some(-20.5), Some(-26.0));
    (band.difference_db[0], band.difference_db[4]) = (Some(0.5), Some(-6.0));
    let mut note = BarMapRow {
        label: "bass note".into(),
        by_note: true,
        whole_db: Some(12.0),
        ..band.clone()
    };
    (note.difference_db[2], note.difference_db[3]) = (Some(12.0), Some(20.0));
    note.arrangement = vec![false; 16];
    note.arrangement[4] = true;
    note.owners = vec![owner("Bass", 0.4); 8];
    note.owners.extend(vec![owner("Bongos", 0.9); 2]);
    BarMapView {
        sentence: String::new(),
        beats: 4,
        reference_beats: Some(4),
        rows: vec![note, band],
    }
}

fn drawn(view: BarMapView) -> String {
    page(&Report {
        bar_map: Some(view),
        ..Report::default()
    })
}

/// Right edges less left edges of boxes: `M x y h w v h h -w z`.
fn widths(paths: &[Vec<f64>]) -> Vec<f64> {
    paths
        .iter()
        .flatten()
        .copied()
        .collect::<Vec<f64>>()
        .chunks(5)
        .map(|one| one[2])
        .collect()
}

#[test]
fn a_square_is_as_wide_as_its_level() {
    let page = drawn(view());
    let elements = read(&page);
    for id in ["bar-map-wide-t", "bar-map-narrow-t"] {
        let drawing = in_drawing(&elements, id);
        let mix = widths(&paths(&drawing, "mix-mark"));
        // Two cells a row; -12 dB of 24 is half as wide.
        assert_eq!(mix.len(), 4);
        assert!((mix[1] / mix[0] - 0.5).abs() < 0.01, "{mix:?}");
        let reference = widths(&paths(&drawing, "reference-mark"));
        assert!(
            (reference[1] / reference[0] - 18.0 / 23.5).abs() < 0.02,
            "{reference:?}"
        );
    }
}

#[test]
fn wedges_point_up_where_the_mix_has_more() {
    let page = drawn(view());
    let elements = read(&page);
    let drawing = in_drawing(&elements, "bar-map-wide-t");
    let wedges = |class: &str| -> Vec<(f64, f64)> {
        let numbers: Vec<f64> = paths(&drawing, class).into_iter().flatten().collect();
        // Base, base, tip: width and how far the tip is above the base.
        numbers
            .chunks(6)
            .map(|one| (one[2] - one[0], one[1] - one[5]))
            .collect()
    };
    let more = wedges("mix-wedge");
    assert_eq!(more.len(), 2);
    assert!(
        more[0].1 > 10.0 && (more[0].1 - more[1].1).abs() < 0.2,
        "held at 12 dB: {more:?}"
    );
    let less = wedges("reference-wedge");
    assert_eq!(less.len(), 1);
    // A quarter and three quarters of 6 dB of 12.
    assert!(
        (less[0].1 / more[0].1 + 0.625).abs() < 0.02,
        "{less:?} {more:?}"
    );
    assert_eq!(wedges("other-wedge").len(), 1);
    assert!(page.contains("a layer one side has not"));
    let texts = texts(&drawing);
    for words in ["bass note", "1.1 kHz", "-4.2", "+12.0"] {
        assert!(texts.contains(&words), "{words}: {texts:?}");
    }
    assert_eq!(
        text_of(&elements, "bar-map"),
        "Over the bar the mix is farthest from the reference at the bass note: 12.0 dB above it"
    );
    let text = text_of(&elements, "bar-map-wide-d");
    assert!(
        text.contains("0 of 2 rows lie within 2 dB; widest: bass note +12.0 dB, 1.1 kHz -4.2 dB."),
        "{text}"
    );
    assert!(
        text.contains("bass note on sixteenth 4 of beat 1, +20.0 dB; 1.1 kHz on beat 2, -6.0 dB"),
        "{text}"
    );
}

#[test]
fn territories_carry_names_or_letters() {
    let elements = read(&drawn(view()));
    let drawing = in_drawing(&elements, "bar-map-wide-t");
    let texts = texts(&drawing);
    // Eight cells have room for a name, two have not; B is taken.
    assert!(texts.contains(&"Bass") && texts.contains(&"O"), "{texts:?}");
    assert!(texts.contains(&"B = Bass, O = Bongos"), "{texts:?}");
    // Shaded where one has more than half.
    assert_eq!(widths(&paths(&drawing, "pale")).len(), 2);
}

#[test]
fn letters_come_from_what_tells_names_apart() {
    let mut view = view();
    let names = [
        "song_01 Kick",
        "song_02 sub+bass",
        "song_03 OH hat",
        "song_04 kit",
    ];
    view.rows[1].owners = names.iter().map(|name| owner(name, 0.9)).collect();
    view.rows[0].owners = vec![owner(names[0], 0.9); 3];
    let elements = read(&drawn(view));
    let texts = texts(&in_drawing(&elements, "bar-map-wide-t")).join(" ");
    for entry in [
        "K = song_01 Kick",
        "S = song_02 sub+bass",
        "O = song_03 OH hat",
        "I = song_04 kit",
    ] {
        assert!(texts.contains(entry), "{entry}: {texts}");
    }
}

#[test]
fn bars_of_different_length_are_not_set_beside_each_other() {
    let mut view = view();
    view.reference_beats = Some(3);
    for row in &mut view.rows {
        row.difference_db.clear();
        row.reference_db.truncate(12);
    }
    let page = drawn(view);
    let elements = read(&page);
    let drawing = in_drawing(&elements, "bar-map-wide-t");
    assert!(paths(&drawing, "mix-wedge").is_empty());
    assert!(texts(&drawing).contains(&"+12.0"));
    assert!(text_of(&elements, "bar-map-wide-d").contains("only whole bars are compared"));
}

#[test]
fn without_a_reference_there_are_mix_and_owners() {
    let mut view = view();
    view.reference_beats = None;
    for row in &mut view.rows {
        (row.reference_db, row.difference_db, row.whole_db) = (vec![], vec![], None);
    }
    let page = drawn(view);
    let elements = read(&page);
    let texts = texts(&in_drawing(&elements, "bar-map-wide-t"));
    assert!(texts.contains(&"Mix") && texts.contains(&"Whose it is"));
    assert!(!texts.contains(&"Reference, as loud") && !page.contains("class=\"mix-wedge\""));
    assert_eq!(
        text_of(&elements, "bar-map"),
        "Energy by sixteenth of the bar"
    );
}

#[test]
fn odd_bars_draw_nothing() {
    for beats in [0, 9, u32::MAX] {
        let page = drawn(BarMapView { beats, ..view() });
        assert!(named(&read(&page), "svg").is_empty());
    }
    let page = drawn(BarMapView {
        rows: vec![],
        ..view()
    });
    assert!(named(&read(&page), "svg").is_empty());
}
