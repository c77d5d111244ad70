//! Beats that drift: F-measure of beats within 70 ms, those of the first 5 s left
//! out (S. Dixon, "Evaluation of the Audio Beat Tracking System BeatRoot", JNMR
//! 36(1), 2007; the trimming as in `mir_eval`).

use crate::prove::answers::Music;
use crate::prove::truth::TrueMusic;

const WINDOW_S: f64 = 0.07;
const SKIPPED_S: f64 = 5.0;

/// F-measure of two sorted lists: each item is used once.
pub(crate) fn f_measure(truth: &[f64], found: &[f64], window: f64) -> f64 {
    let hits = hits(truth, found, window) as f64;
    let total = (truth.len() + found.len()) as f64;
    if total == 0.0 {
        1.0
    } else {
        2.0 * hits / total
    }
}

/// Most pairs within the window; greedy in order, which is the most for one window
/// on a line.
fn hits(truth: &[f64], found: &[f64], window: f64) -> usize {
    let (mut t, mut f, mut hits) = (0, 0, 0);
    while t < truth.len() && f < found.len() {
        let apart = found[f] - truth[t];
        if apart.abs() <= window + 1e-9 {
            hits += 1;
            t += 1;
            f += 1;
        } else if apart < 0.0 {
            f += 1;
        } else {
            t += 1;
        }
    }
    hits
}

/// F-measure of the beats answered: the list, or the grid where one was given.
pub(crate) fn beats_f(truth: &TrueMusic, answer: &Music) -> f64 {
    let end_s = truth.end_s();
    let mut found = match (&answer.beats_s, answer.tempo_bpm, answer.beat_offset_s) {
        (Some(beats), _, _) => beats.clone(),
        (None, Some(tempo_bpm), Some(offset_s)) if tempo_bpm > 0.0 => {
            let beat_s = 60.0 / tempo_bpm;
            let first_s = offset_s.rem_euclid(beat_s);
            let count = ((end_s - first_s) / beat_s).max(0.0) as usize;
            (0..=count).map(|n| first_s + n as f64 * beat_s).collect()
        }
        _ => Vec::new(),
    };
    found.sort_by(f64::total_cmp);
    let inside = |s: &f64| *s >= SKIPPED_S && *s < end_s;
    let found: Vec<f64> = found.into_iter().filter(inside).collect();
    let beats: Vec<f64> = truth.beats_s.iter().copied().filter(inside).collect();
    f_measure(&beats, &found, WINDOW_S)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::judge::tempo::tests::{answer, truth};
    use serde_json::json;

    #[test]
    fn pairs_are_used_once() {
        assert_eq!(f_measure(&[1.0, 2.0], &[1.05, 1.06], 0.07), 0.5);
        assert_eq!(f_measure(&[1.0, 2.0], &[], 0.07), 0.0);
        assert_eq!(f_measure(&[], &[], 0.07), 1.0);
    }

    #[test]
    fn a_grid_does_not_follow_a_drift() {
        let mut at_s = 0.25;
        let beats: Vec<f64> = (0..120)
            .map(|n| {
                at_s += 0.5 + 0.02 * (f64::from(n) / 12.0).sin();
                at_s
            })
            .collect();
        let truth = truth(json!({ "beats_s": beats }));
        let listed = Music {
            beats_s: Some(beats.iter().map(|s| s + 0.03).collect()),
            ..answer(120.0, 0.25)
        };
        assert!(beats_f(&truth, &listed) > 0.99);
        let grid = beats_f(&truth, &answer(120.0, 0.25));
        assert!(grid < 0.6, "{grid}");
        assert_eq!(beats_f(&truth, &Music::default()), 0.0);
    }
}
