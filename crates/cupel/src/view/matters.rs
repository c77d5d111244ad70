//! The few things that matter now, and what is right already.

use cupel_audio::HealthGrade;
use cupel_report::Matter;
use cupel_session::{MoveKind, Target};
use cupel_units::{read_db_change, read_seconds};

use crate::view::{State, shown_name};

/// How many things matter at once.
const MOST: usize = 5;

/// Below this a lean, in dB, is level (common practice, no source).
const LEVEL_DB: f64 = 1.5;

/// A loss in mono smaller than this, in LU, is none (fully independent sides
/// lose 3 LU).
const MONO_LU: f64 = 2.0;

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
    matters.extend(files(state));
    matters.extend(moves(state));
    matters.truncate(MOST);
    matters
}

/// Faults of files that should be mended before anything else.
fn files(state: &State<'_>) -> Vec<Matter> {
    let mut matters = Vec::new();
    for (track, file) in state.assayed.surveyed.included() {
        for note in file
            .measured
            .health
            .iter()
            .filter(|note| note.grade == HealthGrade::Mend)
        {
            matters.push(Matter {
                sentence: sentence(&note.text),
                number: note
                    .value
                    .map(|v| {
                        format!("{v:.1} {}", note.unit.as_deref().unwrap_or(""))
                            .trim()
                            .to_owned()
                    })
                    .unwrap_or_default(),
                track: Some(shown_name(&track.track.file)),
                time: note.at_s.map(|s| read_seconds(s, true)),
                mend: None,
            });
        }
    }
    matters
}

/// The largest moves.
fn moves(state: &State<'_>) -> Vec<Matter> {
    let place = state.assayed.passages.as_ref().map(|p| {
        format!(
            "{}-{}",
            read_seconds(p.stretch.start_s, false),
            read_seconds(p.stretch.end_s, false)
        )
    });
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

/// What is right already, one line each.
pub(crate) fn fine(state: &State<'_>) -> Vec<String> {
    let summary = state
        .after
        .map_or(&state.assayed.mix.summary, |after| &after.mix.summary);
    let targets = state.assayed.surveyed.session.targets;
    let mut lines = Vec::new();
    if summary
        .sample_peak_dbfs
        .is_some_and(|peak| peak <= targets.headroom_dbfs + 0.05)
    {
        lines.push(format!(
            "The mix keeps its headroom of {:.1} dB.",
            -targets.headroom_dbfs
        ));
    }
    if let Some(lean) = summary.lean_db.filter(|lean| lean.abs() < LEVEL_DB) {
        lines.push(format!(
            "Left and right are level: {}.",
            read_db_change(lean)
        ));
    }
    if let Some(loss) = summary.mono_loss_lu.filter(|loss| loss.abs() < MONO_LU) {
        lines.push(format!("Little is lost in mono: {loss:.1} LU."));
    }
    let clean = state
        .assayed
        .surveyed
        .included()
        .filter(|(_, file)| {
            file.measured
                .health
                .iter()
                .all(|n| n.grade == HealthGrade::Info)
        })
        .count();
    if clean > 0 {
        lines.push(format!(
            "{clean} of {} files are in good health.",
            state.assayed.surveyed.included().count()
        ));
    }
    lines
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
