//! Judges evidence written before: `judge evidence.json`, one line a finding.
#![allow(clippy::unwrap_used)]

use cupel_findings::{Evidence, judge};

fn main() {
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path).unwrap();
        let evidence: Evidence = serde_json::from_slice(&bytes).unwrap();
        println!("{path}");
        for finding in judge(&evidence) {
            let follows: Vec<&str> = finding.follows.iter().map(|f| f.name).collect();
            println!(
                "  {:?} {} {:.2}{} [{:.2}] {} {:?} {follows:?}",
                finding.grade,
                finding.name,
                finding.value,
                finding.unit,
                finding.sure,
                finding.sentence,
                finding.tracks
            );
        }
    }
}
