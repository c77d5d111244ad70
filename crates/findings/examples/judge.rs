//! Judges evidence written before: `judge evidence.json`, one line a finding, what follows
//! from it below.
#![allow(clippy::unwrap_used)]

use cupel_findings::{Evidence, Finding, judge};

fn main() {
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path).unwrap();
        let evidence: Evidence = serde_json::from_slice(&bytes).unwrap();
        println!("{path}");
        for finding in judge(&evidence) {
            tell(&finding, "  ");
        }
    }
}

fn tell(finding: &Finding, indent: &str) {
    println!(
        "{indent}{:?} {} {:.2}{} [{:.2}] {} {:?}",
        finding.grade,
        finding.name,
        finding.value,
        finding.unit,
        finding.sure,
        finding.sentence,
        finding.tracks
    );
    for follows in &finding.follows {
        tell(follows, &format!("{indent}  "));
    }
}
