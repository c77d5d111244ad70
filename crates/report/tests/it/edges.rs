//! Silence, one track, and numbers that are none.

use cupel_report::*;

use crate::markup::{in_drawing, named, read, text_of};
use crate::sample;

#[test]
fn one_silent_track_draws_nothing_and_says_so() {
    let track = TrackView {
        name: "Empty".into(),
        ..TrackView::default()
    };
    let report = Report {
        tracks: vec![track],
        ..Report::default()
    };
    let elements = read(&page(&report));
    assert!(named(&elements, "svg").is_empty());
    assert!(text_of(&elements, "tracks").contains("A dash means silent"));
}

#[test]
fn a_silent_track_among_others_keeps_its_row() {
    let mut report = sample::report();
    report.lean = None;
    let silent = &mut report.tracks[4];
    (
        silent.integrated_lufs,
        silent.sample_peak_dbfs,
        silent.lean_db,
    ) = (None, None, None);
    let elements = read(&page(&report));
    // Loudness and peak at desktop width, one phrase on the phone, and two leans.
    let silent = named(&elements, "text")
        .iter()
        .filter(|one| one.text == "silent")
        .count();
    assert_eq!(silent, 5);
}

#[test]
fn without_a_reference_there_is_no_difference() {
    let mut report = sample::report();
    report.reference = None;
    for band in &mut report.spectrum.as_mut().unwrap().bands {
        band.reference_db = None;
    }
    let loudness = report.loudness.as_mut().unwrap();
    (loudness.reference, loudness.reference_passage_s) = (None, None);
    report.lean.as_mut().unwrap().reference_db = None;
    report.bar_map.as_mut().unwrap().reference_beats = None;
    let low = report.low_end.as_mut().unwrap();
    low.reference = None;
    for note in &mut low.notes {
        note.reference_db = None;
    }
    let page = page(&report);
    let elements = read(&page);
    assert!(!page.contains("id=\"difference\""));
    assert!(
        !page.contains("class=\"reference-line\"") && !page.contains("class=\"reference-mark\"")
    );
    assert_eq!(
        text_of(&elements, "loudness"),
        "The passage looked at runs from 2:08 to 2:38"
    );
}

#[test]
fn without_moves_nothing_is_before() {
    let mut report = sample::report();
    for band in &mut report.spectrum.as_mut().unwrap().bands {
        band.after_db = None;
    }
    report.loudness.as_mut().unwrap().after = None;
    for row in &mut report.lean.as_mut().unwrap().rows {
        row.after_db = None;
    }
    for row in &mut report.peaks.as_mut().unwrap().rows {
        row.before = None;
    }
    let page = page(&report);
    assert!(!page.contains("class=\"before-line\""));
    assert!(page.contains("class=\"mix-line\""));
}

/// Every number of the sample replaced by `wrong`.
fn spoilt(wrong: f64) -> Report {
    let mut report = sample::report();
    report.trust.residual_db = Some(wrong);
    report.trust.gains[0].gain_db = wrong;
    report.trust.worst_places[0] = WorstPlace {
        start_s: wrong,
        end_s: wrong,
        residual_db: wrong,
    };
    for row in &mut report.standing {
        (row.before, row.after, row.reference) = (Some(wrong), Some(wrong), Some(wrong));
    }
    for (index, band) in report
        .spectrum
        .as_mut()
        .expect("present in the sample and the page")
        .bands
        .iter_mut()
        .enumerate()
    {
        (band.before_db, band.after_db) = (Some(wrong), Some(wrong));
        band.owners[0].share = wrong;
        if index % 3 == 0 {
            (band.low_hz, band.high_hz) = (wrong, wrong);
        }
    }
    let loudness = report
        .loudness
        .as_mut()
        .expect("present in the sample and the page");
    loudness.before[40] = Some(wrong);
    loudness.reference_gain_db = wrong;
    loudness.passage_s = Some((wrong, wrong));
    loudness.sections[1].start_s = wrong;
    let bar_map = report.bar_map.as_mut().expect("present in the sample");
    for row in bar_map.rows.iter_mut().step_by(3) {
        (row.mix_db[5], row.reference_db[6]) = (Some(wrong), Some(wrong));
        (row.difference_db[7], row.whole_db) = (Some(wrong), Some(wrong));
        row.owners[8]
            .iter_mut()
            .for_each(|owner| owner.share = wrong);
    }
    for track in &mut report.tracks {
        (track.integrated_lufs, track.sample_peak_dbfs) = (Some(wrong), Some(wrong));
        (track.peak_share, track.net_gain_db) = (Some(wrong), Some(wrong));
    }
    let lean = report
        .lean
        .as_mut()
        .expect("present in the sample and the page");
    (lean.rows[0].before_db, lean.reference_db) = (Some(wrong), Some(wrong));
    report
}

#[test]
fn numbers_that_are_none_are_never_printed() {
    for wrong in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let page = page(&spoilt(wrong));
        let elements = read(&page);
        for element in &elements {
            for (key, value) in &element.attributes {
                assert!(
                    !value.contains("NaN") && !value.contains("inf"),
                    "{key}={value}"
                );
            }
        }
        let words = &named(&elements, "body")[0].text;
        assert!(!words.contains("NaN") && !words.contains("inf"), "{wrong}");
    }
}

#[test]
fn numbers_beyond_reason_stay_on_the_page() {
    for wrong in [1e300, -1e300, 1e12] {
        assert!(page(&spoilt(wrong)).len() < 1_000_000, "{wrong}");
    }
}

#[test]
fn a_hop_of_zero_is_no_curve() {
    for hop_s in [0.0, -1.0, f64::NAN] {
        let mut report = sample::report();
        report.loudness.as_mut().unwrap().hop_s = hop_s;
        assert!(!page(&report).contains("id=\"loudness\""));
    }
}

#[test]
fn a_peak_without_loudness_is_not_called_silent_on_phones() {
    let track = TrackView {
        name: "Click".into(),
        sample_peak_dbfs: Some(-9.0),
        ..TrackView::default()
    };
    let report = Report {
        tracks: vec![track],
        ..Report::default()
    };
    let elements = read(&page(&report));
    let narrow = in_drawing(&elements, "levels-narrow-t");
    assert!(
        narrow
            .iter()
            .any(|one| one.name == "text" && one.text == "peak -9.0")
    );
}
