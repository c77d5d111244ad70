//! What holds for every page: order, landmarks, names, nothing from outside.

use cupel_report::{Report, TrustVerdict, page};

use crate::markup::{named, read, with_id};
use crate::sample;

fn check(report: &Report) {
    let page = page(report);
    assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">"));
    let elements = read(&page);
    for landmark in ["header", "main", "footer", "h1", "head"] {
        assert_eq!(named(&elements, landmark).len(), 1, "{landmark}");
    }

    let mut level = 0;
    for element in &elements {
        if let Some(next) = element
            .name
            .strip_prefix('h')
            .and_then(|n| n.parse::<u32>().ok())
        {
            assert!(
                next <= level + 1,
                "h{next} after h{level}: {}",
                element.text
            );
            assert!(!element.text.is_empty());
            level = next;
        }
    }

    let ids: Vec<&str> = elements
        .iter()
        .filter_map(|one| one.attribute("id"))
        .collect();
    for (index, id) in ids.iter().enumerate() {
        assert!(!ids[..index].contains(id), "`{id}` twice");
    }
    for element in &elements {
        for key in ["aria-labelledby", "aria-describedby", "for"] {
            if let Some(id) = element.attribute(key) {
                assert!(ids.contains(&id), "{key} to `{id}`");
            }
        }
        if let Some(target) = element.attribute("href") {
            assert!(ids.contains(&target.strip_prefix('#').expect("a place on the page")));
        }
    }

    for svg in named(&elements, "svg") {
        assert_eq!(svg.attribute("role"), Some("img"));
        for key in ["aria-labelledby", "aria-describedby"] {
            let at = with_id(
                &elements,
                svg.attribute(key)
                    .expect("present in the sample and the page"),
            )
            .expect("present in the sample and the page");
            assert!(!elements[at].text.is_empty(), "{key}");
        }
    }

    for outside in [
        "http:", "https:", "//", "src=", "url(", "@import", "<script", "<link",
    ] {
        assert!(
            !page.contains(outside),
            "`{outside}` leads outside the page"
        );
    }
    for wrong in ["NaN", "inf", "-0.0<", "None", "Some("] {
        let words = &named(&elements, "body")[0].text;
        assert!(!words.contains(wrong), "`{wrong}` in the words");
    }
}

#[test]
fn the_sample_page() {
    check(&sample::report());
}

#[test]
fn an_empty_page() {
    check(&Report::default());
    assert!(page(&Report::default()).contains("Nothing was measured yet."));
}

#[test]
fn every_verdict() {
    use TrustVerdict::{CannotJudge, Trusted, Untold, WithCare};
    for (verdict, words) in [
        (Trusted, "Yes:"),
        (WithCare, "With care:"),
        (CannotJudge, "No:"),
        (Untold, "Not known:"),
    ] {
        let mut report = sample::report();
        report.trust.verdict = verdict;
        check(&report);
        assert!(page(&report).contains(words));
    }
}

#[test]
fn each_part_can_stand_alone() {
    let full = sample::report();
    let blank = Report {
        title: "One".into(),
        ..Report::default()
    };
    check(&Report {
        matters: full.matters.clone(),
        ..blank.clone()
    });
    check(&Report {
        moves: full.moves.clone(),
        ..blank.clone()
    });
    check(&Report {
        standing: full.standing.clone(),
        ..blank.clone()
    });
    check(&Report {
        spectrum: full.spectrum.clone(),
        ..blank.clone()
    });
    check(&Report {
        loudness: full.loudness.clone(),
        ..blank.clone()
    });
    check(&Report {
        tracks: full.tracks.clone(),
        ..blank.clone()
    });
    check(&Report {
        files: full.files.clone(),
        ..blank
    });
}

#[test]
fn the_same_report_gives_the_same_bytes() {
    assert_eq!(page(&sample::report()), page(&sample::report()));
}

#[test]
fn the_most_useful_stands_first() {
    let page = page(&sample::report());
    let order = [
        "trust", "matters", "moves", "worse", "fine", "standing", "drawings", "tracks", "grounds",
        "health", "notes",
    ];
    let places: Vec<usize> = order
        .iter()
        .map(|id| page.find(&format!("<section id=\"{id}\"")).expect(id))
        .collect();
    assert!(places.is_sorted(), "{places:?}");
    assert!(page.find("class=\"caution\"").unwrap() > *places.last().unwrap());
}
