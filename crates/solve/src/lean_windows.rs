//! Left and right over four bars at a time.
//!
//! What answers itself within four bars leans nowhere, and what happens once is no
//! lean: an element stands as it does in the middle one of all stretches of four bars
//! in which it plays. Four bars and the range are common practice, no source.

use crate::lean::{channels, lean_db};
use crate::mix_scene::MixScene;

/// Bars that are judged together.
const BARS: usize = 4;
/// An element plays in a stretch where it has this much of its loudest, dB.
const PLAYS_DB: f64 = -15.0;

/// Powers of left and right, by loudness, of some tracks at gains: for every four bars
/// of the passage, beginning with each bar; one for all of a shorter passage.
pub(crate) fn windows(scene: &MixScene, gain_db: &[f64], tracks: &[usize]) -> Vec<[f64; 2]> {
    let bars = scene.by_bar.cells() / 2;
    if bars == 0 {
        return vec![channels(scene, gain_db, tracks)];
    }
    let mut gains = vec![0.0; gain_db.len()];
    for &track in tracks {
        gains[track] = 10f64.powf(gain_db[track] / 20.0);
    }
    let mut parts = vec![0.0; gains.len()];
    let mut power = |cell: usize| {
        scene.by_bar.parts(cell, &gains, &mut parts);
        parts.iter().sum::<f64>().max(0.0)
    };
    let by_bar: Vec<[f64; 2]> = (0..bars)
        .map(|bar| [power(2 * bar), power(2 * bar + 1)])
        .collect();
    by_bar
        .windows(BARS.min(bars))
        .map(|bars| {
            [0, 1].map(|side| {
                let sum: f64 = bars.iter().map(|bar| bar[side]).sum();
                sum / bars.len() as f64
            })
        })
        .collect()
}

/// How what has these powers stands: right over left in dB, and the place of the
/// middle stretch. Of two middle ones the more level counts.
pub(crate) fn stands(windows: &[[f64; 2]]) -> (f64, usize) {
    let sum = |window: &[f64; 2]| window[0] + window[1];
    let loudest = windows.iter().map(sum).fold(0.0, f64::max);
    let least = loudest * 10f64.powf(PLAYS_DB / 10.0);
    let mut leans: Vec<(f64, usize)> = windows
        .iter()
        .enumerate()
        .filter(|(_, window)| sum(window) >= least)
        .map(|(place, window)| (lean_db(*window), place))
        .collect();
    leans.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let upper = leans.get(leans.len() / 2).copied();
    let lower = leans.get(leans.len().saturating_sub(1) / 2).copied();
    match (lower, upper) {
        (Some(lower), Some(upper)) if lower.0.abs() <= upper.0.abs() => lower,
        (_, Some(upper)) => upper,
        _ => (0.0, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lean::tests::{by_bar, scene};

    /// One element that plays these powers, left and right, bar by bar.
    fn stands_over(bars: &[[f64; 2]]) -> f64 {
        let mut scene = scene(&[[1.0, 1.0]]);
        scene.by_bar = by_bar(&[bars]);
        stands(&windows(&scene, &[0.0], &[0])).0
    }

    #[test]
    fn what_answers_itself_within_four_bars_is_level() {
        let (left, right) = ([1.0, 0.01], [0.01, 1.0]);
        assert!(stands_over(&[left, right, left, right, left, right]).abs() < 1e-9);
        assert!(stands_over(&[left, left, right, right, left, left, right, right]).abs() < 1e-9);
        // Left three bars of four: 10 log10 (1.03 / 3.01) = -4.66 dB.
        let lean_db = stands_over(&[left, left, left, right, left, left, left, right]);
        assert!((lean_db + 4.657).abs() < 0.01, "{lean_db}");
    }

    #[test]
    fn what_happens_once_is_no_lean() {
        let mut bars = vec![[1.0, 1.0]; 16];
        bars[5] = [20.0, 0.0];
        assert_eq!(stands_over(&bars), 0.0);
        // The power of the whole passage leans: 10 log10 (35 / 15) = 3.7 dB.
        let sum = |side: usize| bars.iter().map(|bar| bar[side]).sum::<f64>();
        assert!(10.0 * (sum(0) / sum(1)).log10() > 3.6);
        // Silent bars say nothing.
        let mut rare = vec![[0.0, 0.0]; 16];
        rare[2] = [1.0, 2.0];
        assert!((stands_over(&rare) - 3.0103).abs() < 1e-3);
    }

    #[test]
    fn a_shorter_passage_is_one_stretch() {
        let lean_db = stands_over(&[[1.0, 1.0], [1.0, 3.0]]);
        assert!((lean_db - 3.0103).abs() < 1e-3);
    }
}
