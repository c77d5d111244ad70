//! What holds the mix back most comes first.

use crate::finding::Finding;
use crate::kind::{Cause, Family, Grade};

/// Files come before levels: nothing else can be trusted before they are right.
fn order(finding: &Finding) -> u8 {
    match (finding.grade, finding.cause) {
        (Grade::Mend, Cause::File) if finding.family == Family::Files => 0,
        (Grade::Mend, _) => 1,
        (Grade::Look, _) => 2,
        (Grade::Good, _) => 3,
    }
}

/// Sorts by grade, then by how much it holds the mix back and how sure it is.
pub(crate) fn rank(mut findings: Vec<Finding>) -> Vec<Finding> {
    let weight = |finding: &Finding| {
        let hint = if finding.unsure { 0.5 } else { 1.0 };
        finding.weight * finding.sure * hint
    };
    findings.sort_by(|a, b| {
        let by_order = order(a).cmp(&order(b));
        by_order.then(weight(b).total_cmp(&weight(a)))
    });
    findings
}
