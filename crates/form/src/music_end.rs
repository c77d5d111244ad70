//! Where the music ends and its last decay begins.

use cupel_measure::{LoudnessCurve, loudness_between};

/// A last bar shorter than this share of a bar is no bar.
const WHOLE: f64 = 0.9;
/// Longest decay, bars.
const LONGEST: f64 = 4.0;
/// The decay starts at least this much under the bar before it, LU.
const DROP: f64 = 3.0;
/// Loudness of silence, LUFS.
const SILENT: f64 = -60.0;
/// How much a decay may rise again, as a ratio of powers (6 dB).
const RISE: f32 = 4.0;
/// Steps left to the last hit to sound before its decay is watched.
const LAST_HIT_STEPS: usize = 3;

/// Number of bars up to the music's end: what follows is a decay, silence, or a
/// part of a bar. `lines_s` are bar lines and the end of the file.
pub(crate) fn music_end(lines_s: &[f64], curve: &LoudnessCurve) -> usize {
    let count = lines_s.len() - 1;
    let (end_s, bar_s) = (lines_s[count], lines_s[1] - lines_s[0]);
    let whole = if end_s - lines_s[count - 1] < WHOLE * bar_s {
        count - 1
    } else {
        count
    };
    let ends_at = |end: usize| {
        let loudness = |from_s, to_s| loudness_between(curve, from_s, to_s).unwrap_or(-100.0);
        let first_bar = loudness(lines_s[end], lines_s[end + 1]);
        loudness(lines_s[end], end_s) < SILENT
            || (end_s - lines_s[end] < LONGEST * bar_s
                && first_bar < loudness(lines_s[end - 1], lines_s[end]) - DROP
                && decays(curve, lines_s[end]))
    };
    let mut end = whole;
    while end > 1 && ends_at(end - 1) {
        end -= 1;
    }
    end
}

/// Whether what sounds from a time on only dies away.
fn decays(curve: &LoudnessCurve, from_s: f64) -> bool {
    let first = (from_s / curve.hop_s).ceil() as usize + LAST_HIT_STEPS;
    let floor = 10_f32.powf(SILENT as f32 / 10.0);
    let mut least = f32::MAX;
    // two steps at a time, so that a beating tone is no new hit
    curve
        .k_power
        .iter()
        .skip(first)
        .zip(curve.k_power.iter().skip(first + 1))
        .all(|(a, b)| {
            let power = (0.5 * (a + b)).max(floor);
            least = least.min(power);
            power <= RISE * least
        })
}
