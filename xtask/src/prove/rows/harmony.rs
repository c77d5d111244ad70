//! Keys and tuning.

use crate::prove::answers::Music;
use crate::prove::judge::key::score_of;
use crate::prove::judge::sureness::SURE;
use crate::prove::row::Row;
use crate::prove::rows::{Look, few};
use crate::prove::session::SessionCase;

/// Furthest a tuning may be off, in cents; no goal is set from outside.
const TUNING_CENTS: f64 = 5.0;

/// Words of pitched parts other than the voice.
const PITCHED: [&str; 7] = ["sub", "bass", "chords", "pad", "piano", "lead", "vocal"];

fn is_pitched(look: &&Look<'_>) -> bool {
    let roles = &look.truth.roles;
    roles.iter().any(|role| PITCHED.contains(&role.as_str()))
}

/// Rows of made pieces; the key of one without drums is not asked for here.
pub(crate) fn of_pieces(looks: &[Look<'_>]) -> Vec<Row> {
    let on = "pieces";
    let with_drums: Vec<&Look<'_>> = looks
        .iter()
        .filter(is_pitched)
        .filter(|look| !look.truth.beatless)
        .collect();
    let score = |look: &&Look<'_>| score_of(&look.truth.key, look.plain.key.as_deref());
    let unsaid = with_drums.iter().filter(|look| look.plain.key.is_none());
    let unsaid = unsaid.count();
    let exact = with_drums.iter().filter(|look| score(look) == 1.0).count();
    let off = |look: &&Look<'_>| {
        let given = look.plain.tuning_cents?;
        let error = given - look.truth.tuning_cents();
        // a semitone round: -50 and 50 are the same
        Some((error - 100.0 * (error / 100.0).round()).abs())
    };
    let errors: Vec<Option<f64>> = with_drums.iter().map(off).collect();
    let mut said: Vec<f64> = errors.iter().flatten().copied().collect();
    said.sort_by(f64::total_cmp);
    let middle = said.get(said.len() / 2).copied().unwrap_or(f64::NAN);
    vec![
        Row::mean(
            on,
            "key: weighted score, drums in",
            0.85,
            with_drums.iter().map(score),
        )
        .noted(format!("exact {exact}, unsure and unsaid {unsaid}")),
        Row::share(
            on,
            "tuning within 5 cents",
            0.9,
            errors
                .iter()
                .map(|error| error.is_some_and(|cents| cents <= TUNING_CENTS)),
        )
        .noted(format!("middle error {middle:.1} cents")),
    ]
}

/// Right, or said to be unsure.
fn right_or_unsure(truth: &str, answer: &Music) -> bool {
    let asked = answer.absent.iter().all(|name| !name.starts_with("key"));
    let unsure = answer.key.is_none() || answer.sure.key.unwrap_or(0.0) < SURE;
    score_of(truth, answer.key.as_deref()) == 1.0 || (asked && unsure)
}

/// Rows of given sessions.
pub(crate) fn of_sessions(cases: &[SessionCase]) -> Vec<Row> {
    let on = "sessions";
    let wholes: Vec<_> = cases.iter().flat_map(|case| &case.wholes).collect();
    let from_tracks: Vec<(&str, bool)> = wholes
        .iter()
        .filter(|whole| whole.from_tracks)
        .map(|whole| {
            let key = whole
                .assayed
                .as_ref()
                .and_then(|music| music.key.as_deref());
            (whole.name.as_str(), score_of(&whole.truth.key, key) == 1.0)
        })
        .collect();
    let mixes: Vec<(&str, bool)> = wholes
        .iter()
        .map(|whole| {
            (
                whole.name.as_str(),
                right_or_unsure(&whole.truth.key, &whole.plain),
            )
        })
        .collect();
    let exact = wholes
        .iter()
        .filter(|whole| score_of(&whole.truth.key, whole.plain.key.as_deref()) == 1.0)
        .count();
    let wrong = |list: &[(&str, bool)]| -> Vec<String> {
        let wrong = list.iter().filter(|(_, right)| !right);
        wrong.map(|(name, _)| (*name).to_owned()).collect()
    };
    let (bad, worse) = (wrong(&from_tracks), wrong(&mixes));
    vec![
        Row::share(
            on,
            "key right, from tracks",
            1.0,
            from_tracks.iter().map(|(_, r)| *r),
        )
        .noted(few(bad.iter().map(String::as_str))),
        Row::share(
            on,
            "key right or unsure, from mixes",
            1.0,
            mixes.iter().map(|(_, r)| *r),
        )
        .noted(format!(
            "right {exact}; {}",
            few(worse.iter().map(String::as_str))
        )),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::answers::Sure;
    use serde_json::{Value, json};

    #[test]
    fn unsure_is_no_excuse_for_silence_of_the_document() {
        let sure = |key: &str, sure: f64| Music {
            key: Some(key.to_owned()),
            sure: Sure {
                key: Some(sure),
                ..Sure::default()
            },
            ..Music::default()
        };
        assert!(right_or_unsure("D minor", &sure("D minor", 1.0)));
        assert!(right_or_unsure("D minor", &sure("F major", 0.5)));
        assert!(!right_or_unsure("D minor", &sure("F major", 0.95)));
        assert!(right_or_unsure(
            "D minor",
            &Music::read(&json!({ "key": null }))
        ));
        assert!(!right_or_unsure("D minor", &Music::read(&Value::Null)));
    }
}
