//! The result for people.

use std::fmt::Write;

use crate::faults::judge::{Alarm, Part, Score};
use crate::faults::trial::Outcome;

fn cell(part: Part) -> String {
    part.share()
        .map_or("-".to_owned(), |share| format!("{share:.2} ({})", part.of))
}

/// A row for each kind, in Markdown.
pub(crate) fn table(scores: &[Score]) -> String {
    let mut text = String::from(
        "| finding | recall 0.5x | 1x | 2x | 4x | among several, 2x | right track | precision at mend | mends in clean | says unsure |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for score in scores {
        let [half, one, two, four] = score.recall.map(cell);
        let unsure = if score.unsure { "yes" } else { "" };
        let unsure_clean = match score.clean_unsure {
            0 => String::new(),
            count => format!(" + {count} unsure"),
        };
        let _ = writeln!(
            text,
            "| {} | {half} | {one} | {two} | {four} | {} | {} | {} | {}{unsure_clean} | {unsure} |",
            score.name,
            cell(score.among),
            cell(score.right_track),
            cell(score.precision),
            score.clean.hits,
        );
    }
    text
}

fn all(parts: impl Iterator<Item = Part>) -> Part {
    parts.fold(Part::default(), |sum, part| Part {
        hits: sum.hits + part.hits,
        of: sum.of + part.of,
    })
}

/// The four goals, with and without kinds that say they are unsure.
pub(crate) fn goals(scores: &[Score], outcomes: &[Outcome]) -> String {
    let mut text = String::new();
    let clean = || outcomes.iter().filter(|o| o.is_clean());
    let sure_mends = |outcome: &Outcome| {
        let mends = outcome
            .found
            .iter()
            .filter(|f| f.grade == "mend" && !f.unsure);
        mends.count()
    };
    for (who, only_sure) in [("all kinds", false), ("kinds that are not unsure", true)] {
        let some: Vec<&Score> = scores.iter().filter(|s| !(only_sure && s.unsure)).collect();
        let recall = all(some.iter().map(|s| s.recall[2]));
        let track = all(some.iter().map(|s| s.right_track));
        let precision = all(some.iter().map(|s| s.precision));
        let among = all(some.iter().map(|s| s.among));
        let _ = writeln!(
            text,
            "{who}: recall at twice the size {} (goal 0.95), among several at once {}, right track {} \
             (0.95), precision at mend {} (0.95)",
            cell(recall),
            cell(among),
            cell(track),
            cell(precision)
        );
    }
    let counts: Vec<usize> = clean().map(sure_mends).collect();
    let over = counts.iter().filter(|count| **count > 1).count();
    let _ = writeln!(
        text,
        "clean sessions: {} with {} findings to mend in all; {over} with more than one (goal 0)",
        counts.len(),
        counts.iter().sum::<usize>()
    );
    text
}

/// By session: how many false alarms.
pub(crate) fn by_session(outcomes: &[Outcome]) -> String {
    let mut text = String::from(
        "| clean session | mend | mend, unsure | look | right as it is |\n| --- | --- | --- | --- | --- |\n",
    );
    for outcome in outcomes.iter().filter(|o| o.is_clean()) {
        let count = |grade: &str, unsure: bool| {
            let found = outcome.found.iter();
            found
                .filter(|f| f.grade == grade && f.unsure == unsure)
                .count()
        };
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} |",
            outcome.session,
            count("mend", false),
            count("mend", true),
            count("look", false) + count("look", true),
            count("good", false) + count("good", true)
        );
    }
    text
}

/// Every false alarm in words.
pub(crate) fn alarms(alarms: &[Alarm]) -> String {
    let mut text = String::new();
    for alarm in alarms {
        let unsure = if alarm.unsure { " (unsure)" } else { "" };
        let _ = writeln!(
            text,
            "- {}{unsure} in {} [{}]: {}",
            alarm.name, alarm.session, alarm.during, alarm.sentence
        );
    }
    text
}
