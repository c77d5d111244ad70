//! A plain look-ahead limiter with a release, for references as they are released.

/// Ceiling of the limiter, full scale 1.
const CEILING: f64 = 0.85;
const LOOK_AHEAD_S: f64 = 0.003;
/// The gain it has taken comes back with this time constant (common practice: some
/// 50 to 200 ms, no source).
const RELEASE_S: f64 = 0.08;

/// Turns up by a gain and holds the peaks. What must be taken falls off by the
/// release, is held for the look-ahead on both sides, and smoothed over it.
pub(crate) fn limited(mix: &[Vec<f64>; 2], rate_hz: u32, gain_db: f64) -> [Vec<f64>; 2] {
    let gain = 10f64.powf(gain_db / 20.0);
    let frames = mix[0].len();
    let reach = (LOOK_AHEAD_S * f64::from(rate_hz)) as usize;
    let decay = (-1.0 / (RELEASE_S * f64::from(rate_hz))).exp();
    let mut taken_db = 0.0_f64;
    let need: Vec<f64> = (0..frames)
        .map(|n| {
            let peak = gain * mix[0][n].abs().max(mix[1][n].abs());
            let over_db = 20.0 * (peak / CEILING).max(1.0).log10();
            taken_db = over_db.max(taken_db * decay);
            10f64.powf(-taken_db / 20.0)
        })
        .collect();
    let least = least_of_windows(&need, reach);
    let smooth = mean_of_windows(&least, reach);
    [0, 1].map(|side| {
        let samples = mix[side].iter().zip(&smooth);
        samples.map(|(x, held)| gain * held * x).collect()
    })
}

/// The least value within `reach` on both sides.
fn least_of_windows(values: &[f64], reach: usize) -> Vec<f64> {
    let mut waiting: std::collections::VecDeque<usize> = std::collections::VecDeque::new();
    let mut next = 0;
    (0..values.len())
        .map(|n| {
            while next < values.len() && next <= n + reach {
                while waiting
                    .back()
                    .is_some_and(|&last| values[last] >= values[next])
                {
                    waiting.pop_back();
                }
                waiting.push_back(next);
                next += 1;
            }
            while waiting.front().is_some_and(|&first| first + reach < n) {
                waiting.pop_front();
            }
            waiting.front().map_or(1.0, |&first| values[first])
        })
        .collect()
}

fn mean_of_windows(values: &[f64], reach: usize) -> Vec<f64> {
    let mut sums = vec![0.0; values.len() + 1];
    for (n, value) in values.iter().enumerate() {
        sums[n + 1] = sums[n] + value;
    }
    (0..values.len())
        .map(|n| {
            let (from, to) = (n.saturating_sub(reach), (n + reach + 1).min(values.len()));
            (sums[to] - sums[from]) / (to - from) as f64
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn peaks_are_held_and_what_was_taken_comes_back() {
        let mut left: Vec<f64> = (0..60_000)
            .map(|n| 0.1 * (0.05 * f64::from(n)).sin())
            .collect();
        left[10_000] = 0.9;
        let mix = [left.clone(), left];
        let loud = limited(&mix, 48_000, 6.0);
        let peak = loud[0].iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        assert!(peak <= CEILING + 1e-9 && peak > 0.6, "{peak}");
        let gain = 10f64.powf(6.0 / 20.0);
        let part = |n: usize| loud[0][n] / (gain * mix[0][n]);
        // 0.9 turned up by 6 dB is 6.5 dB over: all of it is there before, a third
        // (1/e) of its decibels after 80 ms, and next to nothing after half a second.
        assert!((part(2_000) - 1.0).abs() < 1e-12);
        let after_db = -20.0 * part(10_000 + 3_840).log10();
        assert!(
            (after_db - 6.5 / std::f64::consts::E).abs() < 0.2,
            "{after_db}"
        );
        assert!(part(10_000 + 24_000) > 0.98);
    }
}
