//! Roles of tracks, layers of references.

use crate::prove::judge::layers::{Count, count};
use crate::prove::judge::roles::{group_is_right, role_is_right};
use crate::prove::judge::sureness::SURE;
use crate::prove::row::{Goal, Row};
use crate::prove::session::{Names, RoleCase, SessionCase};

/// Rows by what the files are called.
pub(crate) fn roles(on: &'static str, cases: &[SessionCase]) -> Vec<Row> {
    let all: Vec<&RoleCase> = cases.iter().flat_map(|case| &case.roles).collect();
    let named = |names: Names| -> Vec<&RoleCase> {
        all.iter()
            .filter(|case| case.names == names)
            .copied()
            .collect()
    };
    let role = |case: &&RoleCase| role_is_right(&case.word, case.role.as_deref());
    let group = |case: &&RoleCase| group_is_right(&case.word, case.group.as_deref());
    let sure = |case: &&RoleCase| case.role.is_some() && case.sure.unwrap_or(0.0) >= SURE;
    let (own, hidden, wrong) = (named(Names::Own), named(Names::Hidden), named(Names::Wrong));
    let mut rows = vec![
        Row::share(on, "role, with names", 0.95, own.iter().map(role)).noted(missed(&own)),
        Row::share(on, "role, names hidden", 0.75, hidden.iter().map(role)).noted(missed(&hidden)),
        Row::share(on, "group, names hidden", 0.9, hidden.iter().map(group)),
    ];
    let sure_ones: Vec<&RoleCase> = wrong.iter().filter(|c| sure(c)).copied().collect();
    rows.push(
        Row::share(
            on,
            "role, wrong names, of answers called sure",
            0.95,
            sure_ones.iter().map(role),
        )
        .noted(format!("{} of {} sure", sure_ones.len(), wrong.len())),
    );
    rows
}

/// What was taken for what.
fn missed(cases: &[&RoleCase]) -> String {
    let mut pairs: Vec<String> = cases
        .iter()
        .filter(|case| !role_is_right(&case.word, case.role.as_deref()))
        .map(|case| {
            format!(
                "{} as {}",
                case.word,
                case.role.as_deref().unwrap_or("nothing")
            )
        })
        .collect();
    let missed = pairs.len();
    pairs.sort();
    pairs.dedup();
    let more = pairs.len().saturating_sub(5);
    pairs.truncate(5);
    match (missed, more) {
        (0, _) => String::new(),
        (_, 0) => pairs.join(", "),
        _ => format!("{} and {more} kinds more", pairs.join(", ")),
    }
}

/// Rows of the layers of references that were rendered from known parts.
pub(crate) fn layers(cases: &[SessionCase]) -> Vec<Row> {
    let on = "made sessions";
    let mut total = Count::default();
    let mut judged = 0;
    let mut absent = 0;
    for case in cases {
        let Some(reference) = &case.reference else {
            continue;
        };
        let step_s = 0.25 * reference.beat_s();
        absent += usize::from(case.assay.layers.is_none());
        let answers = case.assay.layers.as_deref().unwrap_or_default();
        let one = count(&reference.layers, answers, step_s);
        total.known += one.known;
        total.found += one.found;
        total.answered += one.answered;
        total.real += one.real;
        judged += 1;
    }
    let share = |part: usize, whole: usize| (whole > 0).then(|| part as f64 / whole as f64);
    let note = if absent > 0 {
        format!("no list of layers in {absent} of {judged} answers")
    } else {
        format!("{judged} references")
    };
    let goal = Goal::AtLeast(0.8);
    vec![
        Row::new(
            on,
            "layers within 20 dB found",
            goal,
            share(total.found, total.known),
            total.known,
        )
        .noted(note.clone()),
        Row::new(
            on,
            "layers found are real",
            goal,
            share(total.real, total.answered),
            total.answered.max(judged),
        )
        .noted(note),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::row::Verdict;

    fn case(word: &str, names: Names, role: Option<&str>, sure: f64) -> RoleCase {
        RoleCase {
            word: word.to_owned(),
            names,
            role: role.map(str::to_owned),
            group: None,
            sure: Some(sure),
        }
    }

    #[test]
    fn roles_are_counted_by_their_names() {
        let session = SessionCase {
            roles: vec![
                case("kick", Names::Own, Some("kick"), 1.0),
                case("vocal", Names::Own, Some("voice"), 1.0),
                case("pad", Names::Hidden, Some("chords"), 0.4),
                case("kick", Names::Hidden, Some("kick"), 0.4),
                case("bass", Names::Wrong, Some("kick"), 0.95),
                case("bass", Names::Wrong, None, 0.95),
            ],
            ..SessionCase::default()
        };
        let rows = roles("x", &[session]);
        let figures: Vec<_> = rows.iter().map(|row| (row.measured, row.n)).collect();
        assert_eq!(
            figures,
            [
                (Some(1.0), 2),
                (Some(0.5), 2),
                (Some(0.0), 2),
                (Some(0.0), 1)
            ]
        );
        assert_eq!(rows[1].note, "pad as chords");
    }

    #[test]
    fn no_list_of_layers_is_short_and_not_skipped() {
        let reference = serde_json::from_value(serde_json::json!({
            "tempo_bpm": 120.0, "key": "C major", "swing": 0.5,
            "layers": [{ "role": "kick", "steps": [1.0, 0.0, 0.0, 0.0], "note_s": 0.0,
                "low_hz": 40.0, "high_hz": 90.0, "lufs": -10.0, "balance": 0.0 }]
        }));
        let session = SessionCase {
            reference: Some(reference.unwrap()),
            ..SessionCase::default()
        };
        let rows = layers(&[session]);
        assert!(rows.iter().all(|row| row.verdict == Verdict::Short));
        assert!(rows[0].note.starts_with("no list"));
    }
}
