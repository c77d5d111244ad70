//! Where exactly a hit begins, so that a cut just before it hears nothing of it.

/// Length of a block, in seconds.
const BLOCK_S: f64 = 0.0005;

/// How far an onset is looked for before and after the given time, in seconds.
const REACH_S: (f64, f64) = (0.025, 0.012);

/// What is compared: this long before and after, in seconds.
const BEFORE_S: f64 = 0.004;
const AFTER_S: f64 = 0.003;

/// The first rise counts that is this part of the steepest: a clap is many hits, and a
/// cut too early costs nothing.
const FIRST: f64 = 0.3;

/// A cut lies this long before the rise, in seconds.
const LEAD_S: f64 = 0.001;

/// Frames just before each onset, rising, none twice.
pub(crate) fn boundaries(channels: &[Vec<f64>], rate_hz: f64, onsets: &[f64]) -> Vec<i64> {
    let block = (BLOCK_S * rate_hz).max(1.0) as usize;
    let energy = energy(channels, block);
    let blocks = |time_s: f64| (time_s * rate_hz / block as f64).round() as usize;
    let mut found: Vec<i64> = onsets
        .iter()
        .filter(|&&onset| onset >= 0.0)
        .map(|&onset| {
            let middle = (onset / block as f64) as usize;
            let range = middle.saturating_sub(blocks(REACH_S.0))..middle + blocks(REACH_S.1);
            let rises: Vec<(usize, f64)> = range
                .map(|n| (n, steepness(&energy, n, blocks(BEFORE_S), blocks(AFTER_S))))
                .collect();
            let most = rises.iter().map(|rise| rise.1).fold(0.0, f64::max);
            let first = rises.iter().position(|rise| rise.1 >= FIRST * most);
            // From there on to where it is steepest.
            let steepest = first
                .and_then(|first| rises.get(first..))
                .and_then(|rises| {
                    let next = rises.iter().zip(rises.iter().skip(1));
                    next.take_while(|(now, next)| next.1 > now.1)
                        .last()
                        .map(|(_, next)| next.0)
                })
                .or(first.and_then(|first| rises.get(first)).map(|rise| rise.0))
                .unwrap_or(middle);
            (steepest * block) as i64 - (LEAD_S * rate_hz) as i64
        })
        .collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// The energy of the differences from sample to sample, by block.
///
/// Differences weigh high frequencies more, where a hit begins most clearly.
fn energy(channels: &[Vec<f64>], block: usize) -> Vec<f64> {
    let frames = channels.first().map_or(0, Vec::len);
    let mut energy = vec![0.0; frames / block + 1];
    for channel in channels {
        for (n, pair) in channel.windows(2).enumerate() {
            if let Some(sum) = energy.get_mut((n + 1) / block) {
                *sum += (pair[1] - pair[0]) * (pair[1] - pair[0]);
            }
        }
    }
    energy
}

/// How steeply energy rises at block `n`: after it by before it, times the root of
/// the rise itself, so that faint clicks in a pause do not win over the hit.
fn steepness(energy: &[f64], n: usize, before: usize, after: usize) -> f64 {
    let mean = |from: usize, to: usize| {
        let part = energy.get(from..to.min(energy.len())).unwrap_or(&[]);
        part.iter().sum::<f64>() / part.len().max(1) as f64
    };
    let (old, new) = (mean(n.saturating_sub(before), n), mean(n, n + after));
    ((new - old).max(0.0)).sqrt() * new / (old + 1e-12)
}
