//! A plain look-ahead limiter, for references as they are released.

/// Ceiling of the limiter, full scale 1.
const CEILING: f64 = 0.85;
const LOOK_AHEAD_S: f64 = 0.004;

/// Turns up by a gain and holds the peaks: the gain needed is the least of a window
/// on both sides, smoothed over it.
pub(crate) fn limited(mix: &[Vec<f64>; 2], rate_hz: u32, gain_db: f64) -> [Vec<f64>; 2] {
    let gain = 10f64.powf(gain_db / 20.0);
    let frames = mix[0].len();
    let reach = (LOOK_AHEAD_S * f64::from(rate_hz)) as usize;
    let need: Vec<f64> = (0..frames)
        .map(|n| {
            let peak = gain * mix[0][n].abs().max(mix[1][n].abs());
            if peak > CEILING { CEILING / peak } else { 1.0 }
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
    fn peaks_are_held_and_the_rest_only_turned_up() {
        let mut left: Vec<f64> = (0..20_000)
            .map(|n| 0.1 * (0.05 * f64::from(n)).sin())
            .collect();
        left[10_000] = 0.9;
        let mix = [left.clone(), left];
        let loud = limited(&mix, 48_000, 6.0);
        let peak = loud[0].iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        assert!(peak <= CEILING + 1e-9 && peak > 0.6, "{peak}");
        let gain = 10f64.powf(6.0 / 20.0);
        assert!((loud[0][2_000] - gain * mix[0][2_000]).abs() < 1e-12);
    }
}
