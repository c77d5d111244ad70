//! From evidence to findings.

use crate::catalogue::entries;
use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::fold::fold;
use crate::rank::rank;

/// What was found, by what holds the mix back now, consequences folded under their
/// causes; good points last.
pub fn judge(evidence: &Evidence) -> Vec<Finding> {
    rank(fold(judge_all(evidence)))
}

/// Everything found, in the order of the catalogue, nothing folded.
pub fn judge_all(evidence: &Evidence) -> Vec<Finding> {
    entries().flat_map(|entry| (entry.find)(evidence)).collect()
}
