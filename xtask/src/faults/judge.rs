//! What was found beside what was done.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::faults::inject::Fault;
use crate::faults::trial::{Done, Found, Outcome};

/// Sizes that are tried.
pub(crate) const TIMES: [f64; 4] = [0.5, 1.0, 2.0, 4.0];

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub(crate) struct Part {
    pub hits: usize,
    pub of: usize,
}

impl Part {
    fn count(&mut self, hit: bool) {
        self.of += 1;
        self.hits += usize::from(hit);
    }

    pub(crate) fn share(self) -> Option<f64> {
        (self.of > 0).then(|| self.hits as f64 / self.of as f64)
    }
}

/// How one kind did.
#[derive(Clone, Debug, Default, Serialize)]
pub(crate) struct Score {
    pub name: String,
    pub sized: bool,
    /// Found at 0.5, 1, 2 and 4 times its size; yes or no faults stand at 2.
    pub recall: [Part; 4],
    /// Of what was found at its size and over it: the right track.
    pub right_track: Part,
    /// Of what it says should be mended: put in.
    pub precision: Part,
    /// Found among several at once, at twice its size.
    pub among: Part,
    /// Findings to mend in clean sessions, and how many clean sessions there are.
    pub clean: Part,
    /// The same of those that call themselves unsure.
    pub clean_unsure: usize,
    /// Says of itself that it is unsure.
    pub unsure: bool,
}

/// Scores by kind, in the order of the faults; kinds no fault is made for at the end.
pub(crate) fn scores(faults: &[Fault], outcomes: &[Outcome]) -> Vec<Score> {
    let mut scores: Vec<Score> = faults
        .iter()
        .map(|fault| Score {
            name: fault.name.to_owned(),
            sized: fault.sized,
            ..Score::default()
        })
        .collect();
    for kind in cupel_findings::all_kinds() {
        if scores.iter().all(|score| score.name != kind.name) {
            scores.push(Score {
                name: kind.name.to_owned(),
                ..Score::default()
            });
        }
    }
    for score in &mut scores {
        let kind = cupel_findings::kind_named(&score.name);
        score.unsure = kind.is_some_and(|kind| kind.unsure);
        for outcome in outcomes.iter().filter(|o| !o.no_place) {
            count(score, faults, outcome);
        }
    }
    let clean = clean_mends(outcomes);
    for score in &mut scores {
        for outcome in outcomes.iter().filter(|o| !o.no_place) {
            precision(score, faults, outcome, &clean);
        }
    }
    scores
}

/// Recall, track, and what clean sessions get.
fn count(score: &mut Score, _: &[Fault], outcome: &Outcome) {
    if outcome.faults.is_empty() {
        let of_kind = |found: &&Found| found.name == score.name && found.grade == "mend";
        let (unsure, sure): (Vec<&Found>, Vec<&Found>) = outcome
            .found
            .iter()
            .filter(of_kind)
            .partition(|found| found.unsure);
        score.clean.of += 1;
        score.clean.hits += sure.len();
        score.clean_unsure += unsure.len();
        return;
    }
    let several = outcome.faults.len() > 1;
    for done in outcome
        .faults
        .iter()
        .filter(|done| done.fault == score.name)
    {
        let all = outcome.found.iter();
        let found: Vec<&Found> = all
            .filter(|f| f.name == done.fault && f.grade != "good")
            .collect();
        let is_found = match several {
            true => found.iter().any(|found| is_right(found, done)),
            false => !found.is_empty(),
        };
        if several {
            score.among.count(is_found);
            continue;
        }
        let Some(size) = TIMES.iter().position(|times| *times == outcome.times) else {
            continue;
        };
        score.recall[size].count(is_found);
        if is_found && outcome.times >= 1.0 && !done.right.is_empty() {
            score
                .right_track
                .count(found.iter().any(|found| is_right(found, done)));
        }
    }
}

/// Names at least one of the tracks, and no more strangers than those.
fn is_right(found: &Found, done: &Done) -> bool {
    if done.right.is_empty() {
        return true;
    }
    let right = found
        .tracks
        .iter()
        .filter(|track| done.right.contains(track))
        .count();
    right > 0 && 2 * right >= found.tracks.len()
}

type Mends = BTreeMap<(String, String), Vec<String>>;

/// Tracks of what clean sessions already say, by session and kind.
fn clean_mends(outcomes: &[Outcome]) -> Mends {
    let mut mends = Mends::new();
    for outcome in outcomes.iter().filter(|o| o.is_clean()) {
        for found in outcome.found.iter().filter(|f| f.grade == "mend") {
            let key = (outcome.session.clone(), found.name.clone());
            mends.entry(key).or_default().extend(found.tracks.clone());
        }
    }
    mends
}

/// What is to be mended was put in, or is a false alarm. What the clean session said
/// already counts once, with it; what may truly follow counts neither way.
fn precision(score: &mut Score, faults: &[Fault], outcome: &Outcome, clean: &Mends) {
    let mends = outcome.found.iter();
    for found in mends.filter(|f| f.name == score.name && f.grade == "mend" && !f.unsure) {
        let mut done = outcome.faults.iter();
        if done.any(|done| done.fault == found.name && is_right(found, done)) {
            score.precision.count(true);
            continue;
        }
        let key = (outcome.session.clone(), found.name.clone());
        let known = !outcome.faults.is_empty() && clean.contains_key(&key);
        if !known && !may_follow(found, faults, outcome) {
            score.precision.count(false);
        }
    }
}

/// What is exact arithmetic on peaks: whatever raised them, it is true.
const TRUE_OF_PEAKS: [&str; 3] = ["premaster-peak", "true-peak-over", "starved-or-hot"];

fn may_follow(found: &Found, faults: &[Fault], outcome: &Outcome) -> bool {
    if !outcome.faults.is_empty() && TRUE_OF_PEAKS.contains(&found.name.as_str()) {
        return true;
    }
    let of = |done: &Done| {
        let fault = faults.iter().find(|fault| fault.name == done.fault);
        fault.is_some_and(|fault| fault.also.contains(&found.name.as_str()))
    };
    outcome.faults.iter().any(of)
}

/// A finding to mend where nothing like it was put in.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Alarm {
    pub session: String,
    pub during: String,
    pub name: String,
    pub unsure: bool,
    pub sentence: String,
}

/// False alarms: of clean sessions first.
pub(crate) fn alarms(faults: &[Fault], outcomes: &[Outcome]) -> Vec<Alarm> {
    let clean = clean_mends(outcomes);
    let mut alarms = Vec::new();
    let mut sorted: Vec<&Outcome> = outcomes.iter().filter(|o| !o.no_place).collect();
    sorted.sort_by_key(|outcome| !outcome.is_clean());
    for outcome in sorted {
        for found in outcome.found.iter().filter(|f| f.grade == "mend") {
            let named = outcome
                .faults
                .iter()
                .any(|d| d.fault == found.name && is_right(found, d));
            let key = (outcome.session.clone(), found.name.clone());
            let known = !outcome.faults.is_empty() && clean.contains_key(&key);
            if named || known || may_follow(found, faults, outcome) {
                continue;
            }
            let during: Vec<String> = outcome
                .faults
                .iter()
                .map(|done| format!("{} x{} ({})", done.fault, outcome.times, done.what))
                .collect();
            alarms.push(Alarm {
                session: outcome.session.clone(),
                during: if during.is_empty() {
                    "clean".to_owned()
                } else {
                    during.join(", ")
                },
                name: found.name.clone(),
                unsure: found.unsure,
                sentence: found.sentence.clone(),
            });
        }
    }
    alarms
}

/// What was put in at twice its size and not found, or at the wrong track.
pub(crate) fn misses(outcomes: &[Outcome]) -> Vec<String> {
    let mut lines = Vec::new();
    for outcome in outcomes
        .iter()
        .filter(|o| !o.no_place && o.times == 2.0 && o.faults.len() == 1)
    {
        let done = &outcome.faults[0];
        let mut all = outcome
            .found
            .iter()
            .filter(|f| f.name == done.fault && f.grade != "good");
        let line = match all.clone().next() {
            _ if all.any(|found| is_right(found, done)) => continue,
            None => "missed".to_owned(),
            Some(found) => format!("wrong track {:?}: {}", found.tracks, found.sentence),
        };
        lines.push(format!(
            "{} in {} ({}; {:?}): {line}",
            done.fault, outcome.session, done.what, done.right
        ));
    }
    lines
}

#[cfg(test)]
mod tests;
