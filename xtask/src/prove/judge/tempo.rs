//! Tempo and grid.
//!
//! Accuracy1: within 4 percent of the one true tempo (H. Schreiber and M. Müller,
//! "A Single-Step Approach to Musical Tempo Estimation", ISMIR 2018). A piece
//! without a kick has no octave of its own: half and double are right, too.

use crate::prove::answers::Music;
use crate::prove::truth::TrueMusic;

/// Share by which a tempo may be off.
const TOLERANCE: f64 = 0.04;

/// Times the true tempo that an answer is, where it is right: 1, or 0.5 and 2 for a
/// piece without a kick.
pub(crate) fn octave(truth: &TrueMusic, answer: &Music) -> Option<f64> {
    let given_bpm = answer.tempo_bpm?;
    let allowed: &[f64] = if truth.kick_times_s.is_empty() && !truth.roles.is_empty() {
        &[1.0, 0.5, 2.0]
    } else {
        &[1.0]
    };
    let near = |times: f64| (given_bpm / (times * truth.tempo_bpm) - 1.0).abs() <= TOLERANCE;
    allowed.iter().copied().find(|times| near(*times))
}

/// Difference from the true tempo of the octave answered, in beats a minute.
pub(crate) fn tempo_error_bpm(truth: &TrueMusic, answer: &Music) -> Option<f64> {
    let times = octave(truth, answer)?;
    Some((answer.tempo_bpm? - times * truth.tempo_bpm).abs())
}

/// How far the grid lies from the true one, in seconds: the larger of the
/// distances at the first bar and at the end of the music. `None` without an answer of
/// the right tempo.
pub(crate) fn phase_error_s(truth: &TrueMusic, answer: &Music) -> Option<f64> {
    let times = octave(truth, answer)?;
    let (offset_s, beat_s) = (answer.beat_offset_s?, 60.0 / answer.tempo_bpm?);
    // beats of the slower grid must lie on beats of the faster one
    let step_s = truth.beat_s().min(truth.beat_s() / times);
    let errors = [truth.first_downbeat_s, truth.end_s()].map(|near_s| {
        let beat = ((near_s - offset_s) / beat_s).round();
        wrapped(offset_s + beat * beat_s - truth.first_downbeat_s, step_s)
    });
    Some(errors[0].abs().max(errors[1].abs()))
}

/// How far the grid of a file that starts `delay_s` later is from the moved grid of
/// the first, in seconds, at the middle of the music.
pub(crate) fn delay_error_s(
    first: &Music,
    later: &Music,
    delay_s: f64,
    middle_s: f64,
) -> Option<f64> {
    let place = |music: &Music, at_s: f64| {
        let beat_s = 60.0 / music.tempo_bpm?;
        Some((at_s - music.beat_offset_s?).rem_euclid(beat_s))
    };
    let beat_s = 60.0 / first.tempo_bpm?;
    let moved_s = place(later, middle_s + delay_s)? - place(first, middle_s)?;
    Some(wrapped(moved_s, beat_s).abs())
}

/// A downbeat counts as right within the window of the beat measure of MIREX.
pub(crate) const DOWNBEAT_S: f64 = 0.07;

/// Distance of the answered downbeat from a true bar line, modulo one bar; `None`
/// without an answer, or with the wrong metre.
pub(crate) fn downbeat_error_s(truth: &TrueMusic, answer: &Music) -> Option<f64> {
    let given_s = answer.first_downbeat_s?;
    if answer.beats_per_bar? != truth.beats_per_bar {
        return None;
    }
    Some(wrapped(given_s - truth.first_downbeat_s, truth.bar_s()).abs())
}

/// The nearest to zero of `value` and what is whole steps away.
fn wrapped(value: f64, step: f64) -> f64 {
    value - step * (value / step).round()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use serde_json::json;

    pub(crate) fn truth(extra: serde_json::Value) -> TrueMusic {
        let mut base = json!({
            "tempo_bpm": 120.0, "beats_per_bar": 4, "first_downbeat_s": 0.25, "swing": 0.5,
            "key": "C major", "kick_times_s": [0.25], "roles": ["kick"],
            "sections": [{ "name": "drop", "start_s": 0.25, "end_s": 64.25, "busiest": true }],
            "mix": { "seconds": 66.0 }
        });
        for (name, value) in extra.as_object().unwrap() {
            base[name] = value.clone();
        }
        serde_json::from_value(base).unwrap()
    }

    pub(crate) fn answer(tempo_bpm: f64, offset_s: f64) -> Music {
        Music {
            tempo_bpm: Some(tempo_bpm),
            beat_offset_s: Some(offset_s),
            beats_per_bar: Some(4),
            first_downbeat_s: Some(offset_s),
            ..Music::default()
        }
    }

    #[test]
    fn octaves_are_strict_with_a_kick_only() {
        let (with, without) = (
            truth(json!({})),
            truth(json!({ "kick_times_s": [], "roles": ["pad", "clap"] })),
        );
        assert_eq!(octave(&with, &answer(124.0, 0.0)), Some(1.0));
        assert_eq!(octave(&with, &answer(126.0, 0.0)), None);
        assert_eq!(octave(&with, &answer(60.0, 0.0)), None);
        assert_eq!(octave(&without, &answer(60.0, 0.0)), Some(0.5));
        assert_eq!(octave(&without, &answer(180.0, 0.0)), None);
        assert_eq!(octave(&with, &Music::default()), None);
    }

    #[test]
    fn phase_is_judged_at_both_ends() {
        let truth = truth(json!({}));
        let near = |error: Option<f64>, s: f64| (error.unwrap() - s).abs() < 1e-9;
        assert!(near(phase_error_s(&truth, &answer(120.0, 10.754)), 0.004));
        // a grid that starts right and runs away
        let error = phase_error_s(&truth, &answer(120.05, 0.25)).unwrap();
        assert!(error > 0.02, "{error}");
        assert_eq!(phase_error_s(&truth, &answer(60.0, 0.25)), None);
    }

    #[test]
    fn a_slow_grid_lies_on_beats() {
        let truth = truth(json!({ "kick_times_s": [], "roles": ["pad"] }));
        assert!(phase_error_s(&truth, &answer(60.0, 0.75)).unwrap() < 1e-9);
        assert!(phase_error_s(&truth, &answer(60.0, 0.5)).unwrap() > 0.2);
    }

    #[test]
    fn a_delay_moves_the_grid() {
        let first = answer(120.0, 0.25);
        let later = answer(120.0, 0.25 + 0.313 - 0.5 + 0.0004);
        assert!(delay_error_s(&first, &later, 0.313, 30.0).unwrap() < 0.0005);
        assert!(delay_error_s(&first, &first, 0.313, 30.0).unwrap() > 0.15);
    }

    #[test]
    fn downbeats_are_compared_modulo_one_bar() {
        let truth = truth(json!({}));
        assert!(downbeat_error_s(&truth, &answer(120.0, 4.26)).unwrap() < 0.011);
        assert!(downbeat_error_s(&truth, &answer(120.0, 0.75)).unwrap() > 0.4);
        let three = Music {
            beats_per_bar: Some(3),
            ..answer(120.0, 0.25)
        };
        assert_eq!(downbeat_error_s(&truth, &three), None);
    }
}
