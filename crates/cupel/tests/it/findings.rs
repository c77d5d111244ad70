//! Findings: what `assay` says first, its document, and `explain`.

use serde_json::Value;

use crate::support::{Folder, number};

const DOCUMENTS: &str = include_str!("../../../../docs/documents.md");

/// The part of the description that tells of findings.
fn described() -> &'static str {
    let from = DOCUMENTS.find("A finding has").unwrap();
    let length = DOCUMENTS[from..].find("A layer has").unwrap();
    &DOCUMENTS[from..from + length]
}

fn findings(document: &Value) -> Vec<&Value> {
    let top = document["findings"].as_array().unwrap().iter();
    top.flat_map(|finding| std::iter::once(finding).chain(finding["follows"].as_array().unwrap()))
        .collect()
}

/// Every field of a finding is described, and nothing else is.
#[test]
fn the_document_is_as_described() {
    let folder = Folder::with_reference();
    let document = folder.json(&["assay"]);
    let all = findings(&document);
    assert!(!all.is_empty());
    for finding in &all {
        for field in finding.as_object().unwrap().keys() {
            assert!(
                described().contains(&format!("`{field}`"))
                    || described().contains(&format!("`{field}[]`")),
                "{field} is not described"
            );
        }
        let grade = finding["grade"].as_str().unwrap();
        assert!(["mend", "look", "good"].contains(&grade), "{grade}");
        assert!((0.0..=1.0).contains(&number(&finding["sure"])));
        assert!(
            finding["sentence"].as_str().unwrap().ends_with('.'),
            "{finding:#}"
        );
        for track in finding["tracks"].as_array().unwrap() {
            let known = document["tracks"].as_array().unwrap();
            assert!(known.iter().any(|one| one["id"] == *track), "{finding:#}");
        }
    }
}

/// What is to mend comes before what is to look at, and praise comes last.
#[test]
fn the_gravest_come_first() {
    let folder = Folder::with_reference();
    let document = folder.json(&["assay"]);
    let rank = |finding: &Value| match finding["grade"].as_str().unwrap() {
        "mend" => 0,
        "look" => 1,
        _ => 2,
    };
    let ranks: Vec<i32> = document["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(rank)
        .collect();
    assert!(ranks.is_sorted(), "{ranks:?}");
}

/// Tracks turned up by 20 dB: the sum is over full scale, and by how much stands
/// beside the sum's own peak.
#[test]
fn a_hot_sum_is_found_with_its_peak() {
    let folder = Folder::with_reference();
    let document = folder.json(&["assay"]);
    let peak = number(&document["session"]["sample_peak_dbfs"]);
    let all = findings(&document);
    let of_peak = all
        .iter()
        .find(|finding| finding["name"] == "premaster-peak")
        .unwrap();
    assert_eq!(number(&of_peak["value"]), peak);
    let expected = match peak {
        peak if peak > -0.95 => "mend",
        peak if peak > -2.95 => "look",
        _ => "good",
    };
    assert_eq!(of_peak["grade"], expected, "{of_peak:#}");
}

/// The evidence that is written gives the same findings again.
#[test]
fn evidence_can_be_judged_again() {
    let folder = Folder::with_reference();
    let path = folder.path("evidence.json");
    let document = folder.json(&["assay", "--evidence", path.to_str().unwrap()]);
    let bytes = std::fs::read(&path).unwrap();
    let evidence: cupel_findings::Evidence = serde_json::from_slice(&bytes).unwrap();
    let again = cupel_findings::judge(&evidence);
    let names: Vec<&str> = again.iter().map(|finding| finding.name).collect();
    let first: Vec<&str> = document["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| finding["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, first);
}

/// Every kind is listed and can be explained, under the same headings.
#[test]
fn every_kind_is_explained() {
    let folder = Folder::with_reference();
    let all = folder.json(&["explain"]);
    let list = folder.run(&["explain"]).expect(0).out;
    let kinds = all["findings"].as_array().unwrap();
    assert!(kinds.len() > 40, "{}", kinds.len());
    for kind in kinds {
        let name = kind["name"].as_str().unwrap();
        assert!(list.contains(name), "{name}");
    }
    let text = folder.run(&["explain", "kick-off-anchor"]).expect(0).out;
    for heading in [
        "What it measures",
        "Why it matters",
        "How to hear it",
        "How to train the ear for it",
        "How to mend it",
        "When it is wrong",
        "From when on",
    ] {
        assert!(text.contains(heading), "{heading}");
    }
    let run = folder.run(&["explain", "no-such-thing"]).expect(1);
    assert!(run.talk.contains("no finding is called"), "{}", run.talk);
}

/// One file by itself: what can be found is found, the rest says what it needs.
#[test]
fn one_file_says_what_it_would_need() {
    let folder = Folder::of_four();
    let document = folder.json(&["assay", folder.path(Folder::four()[3].0).to_str().unwrap()]);
    let needs = document["needs"].as_array().unwrap();
    let what = |need: &Value| need["what"].as_str().unwrap().to_owned();
    assert!(
        needs.iter().any(|need| what(need).contains("tracks")),
        "{needs:?}"
    );
    assert!(
        needs.iter().any(|need| what(need).contains("reference")),
        "{needs:?}"
    );
}
