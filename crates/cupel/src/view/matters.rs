//! The few things that matter now.

use cupel_findings::{Cause, Family, Grade};
use cupel_report::{LeanRow, Matter};
use cupel_session::{MoveKind, Target};
use cupel_units::{read_db_change, read_seconds};

use crate::view::State;
use crate::view::findings::{number, time, whose};
use crate::view::lean::lean;
use crate::view::peaks::peaks;

/// How many things matter at once.
const MOST: usize = 5;

/// Below this a lean, in dB, is level (common practice, no source).
pub(crate) const LEVEL_DB: f64 = 1.5;

/// How many moves are named at least, whatever else matters.
const LEAST_MOVES: usize = 3;

/// A loss in mono smaller than this, in LU, is none (fully independent sides
/// lose 3 LU).
pub(crate) const MONO_LU: f64 = 2.0;

/// What holds the mix back now, the gravest first.
pub(crate) fn matters(state: &State<'_>) -> Vec<Matter> {
    let mut matters = Vec::new();
    if !state.assayed.trust.can_judge_balance {
        matters.push(Matter {
            sentence: "The tracks do not add up to the bounce.".into(),
            number: state
                .assayed
                .trust
                .residual_db
                .map_or_else(String::new, |db| format!("{db:.1} dB left over")),
            mend: Some("export again as described below".into()),
            ..Matter::default()
        });
    }
    if state.after.is_none() {
        matters.extend(found(state, |_| true));
        matters.truncate(MOST);
        return matters;
    }
    // What faders and pans can mend is in the moves.
    matters.extend(found(state, |cause| cause != Cause::Mix));
    let others = others(state);
    let room = MOST.saturating_sub(matters.len() + others.len());
    matters.extend(moves(state).into_iter().take(room.max(LEAST_MOVES)));
    matters.extend(others);
    matters.truncate(MOST);
    matters
}

/// What no gain mends: too little headroom, lean, loss in mono.
fn others(state: &State<'_>) -> Vec<Matter> {
    let summary = state
        .after
        .map_or(&state.assayed.mix.summary, |after| &after.mix.summary);
    let headroom_dbfs = state.assayed.surveyed.session.targets.headroom_dbfs;
    let mut matters = Vec::new();
    let peak_dbfs = summary.sample_peak_dbfs;
    if let Some(peak_dbfs) = peak_dbfs.filter(|peak_dbfs| *peak_dbfs > headroom_dbfs + 0.05) {
        matters.push(Matter {
            number: format!("{peak_dbfs:.1} dBFS"),
            sentence: format!(
                "The mix peaks over the {headroom_dbfs:.1} dBFS that leave its headroom{}.",
                eaters(state)
            ),
            time: peaks(state).and_then(|view| {
                let peaks = view.peaks.iter();
                let highest = peaks.max_by(|a, b| a.level_dbfs.total_cmp(&b.level_dbfs))?;
                Some(read_seconds(highest.time_s, true))
            }),
            ..Matter::default()
        });
    }
    matters.extend(leaning(state));
    if let Some(loss_lu) = summary.mono_loss_lu.filter(|loss_lu| *loss_lu <= -MONO_LU) {
        matters.push(Matter {
            number: format!("{loss_lu:.1} LU"),
            sentence: "That much loudness is lost where both sides are folded to one.".into(),
            ..Matter::default()
        });
    }
    for loss in state.mono.iter().filter(|loss| loss.too_much) {
        matters.push(Matter {
            number: format!("{:.1} dB", loss.loss_db),
            sentence: format!(
                "{} loses that much loudness where both sides are folded to one.",
                loss.element
            ),
            ..Matter::default()
        });
    }
    matters
}

/// Whose the highest peaks are: `; Kick and Bass make 77 percent of its highest
/// peaks`.
fn eaters(state: &State<'_>) -> String {
    let mut rows = peaks(state).map_or_else(Vec::new, |view| view.rows);
    rows.sort_by(|one, other| other.share.total_cmp(&one.share));
    match rows.as_slice() {
        [first, second, ..] if second.share > 0.0 => format!(
            "; {} and {} make {:.0} percent of its highest peaks",
            first.track,
            second.track,
            100.0 * (first.share + second.share)
        ),
        _ => String::new(),
    }
}

/// The lean of the whole mix, where it is one, and what leans most that way. What
/// leans by itself may be answered by something on the other side.
fn leaning(state: &State<'_>) -> Option<Matter> {
    let now = |row: &LeanRow| row.after_db.or(row.before_db);
    let view = lean(state)?;
    let mix_db = view.mix.as_ref().and_then(now)?;
    if mix_db.abs() <= LEVEL_DB {
        return None;
    }
    let rows = view.rows.iter();
    let leaning = rows.filter_map(|row| Some((now(row)?, &row.name)));
    let most = leaning
        .filter(|(lean_db, _)| lean_db * mix_db > 0.0)
        .reduce(|most, next| {
            if next.0.abs() > most.0.abs() {
                next
            } else {
                most
            }
        });
    let side = if mix_db < 0.0 { "left" } else { "right" };
    let by = most.map_or_else(String::new, |(lean_db, name)| {
        format!("; most of all {name}, by {:.1} dB", lean_db.abs().min(99.9))
    });
    Some(Matter {
        number: format!("{:.1} dB", mix_db.abs().min(99.9)),
        sentence: format!("The whole mix leans to the {side}{by}."),
        time: passage_in_words(state),
        ..Matter::default()
    })
}

fn passage_in_words(state: &State<'_>) -> Option<String> {
    let stretch = state.assayed.passages.as_ref()?.stretch;
    Some(format!(
        "{}-{}",
        read_seconds(stretch.start_s, false),
        read_seconds(stretch.end_s, false)
    ))
}

/// Findings to mend whose cause is `wanted`, surer ones only.
fn found(state: &State<'_>, wanted: impl Fn(Cause) -> bool) -> Vec<Matter> {
    let all = state.assayed.findings.iter();
    all.filter(|finding| {
        // Levels are what faders are for, however unsure they are.
        let told = !finding.unsure || finding.family == Family::Level;
        finding.grade == Grade::Mend && told && wanted(finding.cause)
    })
    .map(|finding| Matter {
        sentence: match finding.unsure {
            true => format!("{} (unsure)", sentence(&finding.sentence)),
            false => sentence(&finding.sentence),
        },
        number: number(finding),
        track: Some(whose(state, finding)).filter(|whose| !whose.is_empty()),
        time: time(finding),
        mend: Some(sentence(&finding.mend)).filter(|mend| !mend.is_empty()),
    })
    .collect()
}

/// The largest moves.
fn moves(state: &State<'_>) -> Vec<Matter> {
    let place = passage_in_words(state);
    let mut steps: Vec<_> = state
        .moves
        .iter()
        .filter(|step| step.on && matches!(step.kind, MoveKind::Fader | MoveKind::Trim))
        .filter_map(|step| Some((step.parameters.gain_db()?, step)))
        .collect();
    steps.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
    steps
        .into_iter()
        .map(|(gain_db, step)| Matter {
            sentence: sentence(&step.why),
            number: read_db_change(gain_db),
            track: match &step.target {
                Target::Track(id) => Some(state.name_of(id)),
                _ => None,
            },
            time: place.clone().filter(|_| step.kind == MoveKind::Fader),
            mend: Some(step.in_words("")),
        })
        .collect()
}

/// With a capital at the start and a full stop at the end; nothing stays nothing.
pub(crate) fn sentence(text: &str) -> String {
    if text.is_empty() {
        return String::new();
    }
    let mut chars = text.chars();
    let start: String = chars
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    let stop = if text.ends_with('.') { "" } else { "." };
    format!("{start}{}{stop}", chars.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_start_and_end() {
        assert_eq!(sentence("the kick peaks"), "The kick peaks.");
        assert_eq!(sentence("Done."), "Done.");
        assert_eq!(sentence(""), "");
    }
}
