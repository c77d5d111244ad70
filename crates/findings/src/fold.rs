//! Consequences under their cause: "dull" under "the hats are 6 dB low".

use crate::catalogue::kind_named;
use crate::finding::Finding;
use crate::kind::Grade;

/// Puts every finding that follows from another under it. One follows where the kind
/// of the other may bring it, and both concern one track, or one of them concerns the
/// whole mix. What is to mend is never put under what is only to look at.
pub(crate) fn fold(findings: Vec<Finding>) -> Vec<Finding> {
    let under: Vec<Option<usize>> = (0..findings.len())
        .map(|place| cause_of(&findings, place))
        .collect();
    let top: Vec<Option<usize>> = (0..findings.len())
        .map(|place| head(&under, place))
        .collect();
    let mut folded: Vec<(usize, Finding)> = Vec::new();
    let mut below: Vec<(usize, Finding)> = Vec::new();
    for (place, finding) in findings.into_iter().enumerate() {
        match top[place] {
            Some(head) => below.push((head, finding)),
            None => folded.push((place, finding)),
        }
    }
    for (head, finding) in below {
        if let Some((_, cause)) = folded.iter_mut().find(|(place, _)| *place == head) {
            cause.follows.push(finding);
        }
    }
    folded.into_iter().map(|(_, finding)| finding).collect()
}

/// The heaviest finding that may bring this one.
fn cause_of(findings: &[Finding], place: usize) -> Option<usize> {
    let one = &findings[place];
    if one.grade == Grade::Good {
        return None;
    }
    let causes = findings.iter().enumerate().filter(|(other, cause)| {
        let brings = kind_named(cause.name).is_some_and(|kind| kind.brings.contains(&one.name));
        *other != place
            && brings
            && cause.grade >= one.grade
            && cause.grade != Grade::Good
            && may_concern_one(cause, one)
    });
    let heaviest = causes.max_by(|a, b| {
        let by_weight = a.1.weight.total_cmp(&b.1.weight);
        by_weight.then(b.0.cmp(&a.0))
    });
    heaviest.map(|(other, _)| other)
}

/// All levels are set beside the kick: what is wrong with it is wrong with them.
const OF_THE_KICK: [&str; 2] = ["kick-lows", "kick-unlike"];

fn may_concern_one(cause: &Finding, one: &Finding) -> bool {
    cause.tracks.is_empty()
        || OF_THE_KICK.contains(&cause.name)
        || one.tracks.is_empty()
        || one.tracks.iter().any(|track| cause.tracks.contains(track))
}

/// The cause at the end of a chain of causes; `None` for what has no cause. Chains
/// end: no kind brings what brings it.
fn head(under: &[Option<usize>], place: usize) -> Option<usize> {
    let mut at = under[place]?;
    while let Some(next) = under[at] {
        at = next;
    }
    Some(at)
}
