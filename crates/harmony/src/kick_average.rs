//! One kick out of many hits: those alike are laid over each other.

use crate::kick_frames::{BEFORE_S, KickFrames, LowHit};
use crate::low_frames::powers;

/// Hits less alike than this, as a correlation, are something else.
const ALIKE: f32 = 0.6;
/// Share of the hits that must be free of the next one for a part of the wave to
/// count.
const FREE: f32 = 0.25;
/// Reach of the measure of what hits have in common.
const COMMON_S: f64 = 0.01;
/// Part of the wave that decides, from the start on.
const COMPARED_S: f64 = 0.12;
/// Hits are moved against each other by at most this.
const SHIFT_S: f64 = 0.012;

/// Average of the hits of a kick.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct AverageKick {
    /// Wave from [`BEFORE_S`] before the start.
    pub(crate) wave: Vec<f32>,
    /// Share of the wave that all hits have in common, 0 to 1, over the same time.
    pub(crate) common: Vec<f32>,
    /// Mean power of the highs over the same time.
    pub(crate) clicks: Vec<f32>,
    /// Hits laid over each other.
    pub(crate) hits: usize,
    /// Share of the hits looked at.
    pub(crate) share: f64,
    /// Mean correlation with the average.
    pub(crate) alike: f64,
}

/// The average of the largest group of hits alike; `None` without hits.
pub(crate) fn average(frames: &KickFrames, hits: &[&LowHit]) -> Option<AverageKick> {
    let compared = Compared::of(frames.rate_hz);
    let waves: Vec<Vec<f32>> = hits.iter().map(|hit| hit.unit_wave()).collect();
    let model = waves.get(compared.middle_most(hits, &waves)?)?;
    let mut sum = model.clone();
    let mut squares = Vec::new();
    let mut group = Vec::new();
    for _ in 0..2 {
        group = (0..waves.len())
            .filter_map(|n| {
                let (shift, alike) = compared.best_shift(&sum, &waves[n]);
                (alike >= ALIKE).then_some((n, shift, alike))
            })
            .collect();
        if group.is_empty() {
            return None;
        }
        let mut next = vec![0.0; sum.len()];
        let mut gains = vec![0.0; sum.len()];
        squares = vec![0.0; sum.len()];
        for &(n, shift, _) in &group {
            let own = &waves[n][..hits[n].own(frames.rate_hz)];
            add_shifted(&mut next, &mut gains, own, shift, hits[n].greatest);
            let power: Vec<f32> = own.iter().map(|x| x * x).collect();
            add_shifted(
                &mut squares,
                &mut vec![0.0; sum.len()],
                &power,
                shift,
                hits[n].greatest,
            );
        }
        let whole = gains.iter().copied().fold(0.0, f32::max);
        for (x, gain) in next.iter_mut().zip(&gains) {
            // where few hits are free of the next one, the wave ends
            *x = if *gain > FREE * whole { *x / gain } else { 0.0 };
        }
        for (square, gain) in squares.iter_mut().zip(&gains) {
            *square /= gain.max(1e-9);
        }
        sum = next;
    }
    let common = common(
        &sum,
        &squares,
        (COMMON_S * frames.rate_hz) as usize,
        group.len(),
    );
    let loudness: f32 = group.iter().map(|&(n, ..)| hits[n].greatest).sum();
    let level = loudness / group.len() as f32;
    sum.iter_mut().for_each(|x| *x *= level);
    let mut clicks = vec![0.0; hits[group[0].0].clicks.len()];
    for &(n, ..) in &group {
        for (sum, power) in clicks.iter_mut().zip(powers(&hits[n].clicks)) {
            *sum += power / group.len() as f32;
        }
    }
    Some(AverageKick {
        wave: sum,
        common,
        clicks,
        hits: group.len(),
        share: group.len() as f64 / hits.len() as f64,
        alike: group.iter().map(|g| f64::from(g.2)).sum::<f64>() / group.len() as f64,
    })
}

/// Power of the mean against the mean of the power, within `reach` frames each
/// way, freed of what chance gives `hits` unlike waves.
fn common(mean: &[f32], squares: &[f32], reach: usize, hits: usize) -> Vec<f32> {
    let chance = 1.0 / hits.max(1) as f32;
    (0..mean.len())
        .map(|n| {
            let (from, to) = (n.saturating_sub(reach), (n + reach + 1).min(mean.len()));
            let own: f32 = mean[from..to].iter().map(|x| x * x).sum();
            let all: f32 = squares[from..to].iter().sum();
            let share = own / all.max(1e-12);
            if hits < 2 {
                1.0
            } else {
                ((share - chance) / (1.0 - chance)).clamp(0.0, 1.0)
            }
        })
        .collect()
}

/// What of two waves is compared.
struct Compared {
    from: usize,
    to: usize,
    shift: usize,
}

impl Compared {
    fn of(rate_hz: f64) -> Self {
        let start = BEFORE_S * rate_hz;
        Self {
            from: start as usize,
            to: (start + COMPARED_S * rate_hz) as usize,
            shift: (SHIFT_S * rate_hz) as usize,
        }
    }

    /// Best correlation of `wave`, moved, with `model`.
    fn best_shift(&self, model: &[f32], wave: &[f32]) -> (isize, f32) {
        let reach = self.shift as isize;
        (-reach..=reach)
            .map(|shift| (shift, self.correlation(model, wave, shift)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0))
    }

    fn correlation(&self, model: &[f32], wave: &[f32], shift: isize) -> f32 {
        let from = (self.from as isize + shift).max(0) as usize;
        let (Some(a), Some(b)) = (
            model.get(self.from..self.to),
            wave.get(from..from + self.to - self.from),
        ) else {
            return 0.0;
        };
        let (mut both, mut aa, mut bb) = (0.0f32, 1e-9f32, 1e-9f32);
        for (x, y) in a.iter().zip(b) {
            both += x * y;
            aa += x * x;
            bb += y * y;
        }
        both / (aa * bb).sqrt()
    }

    /// The hit most like the others; of many, 16 spread over all stand for them.
    fn middle_most(&self, hits: &[&LowHit], waves: &[Vec<f32>]) -> Option<usize> {
        let step = hits.len().div_ceil(16).max(1);
        let some: Vec<usize> = (0..hits.len()).step_by(step).collect();
        let liking = |&a: &usize| -> f32 {
            let others = some.iter().filter(|&&b| b != a);
            others
                .map(|&b| {
                    let alike = self.best_shift(&waves[a], &waves[b]).1;
                    if alike > ALIKE { alike } else { 0.0 }
                })
                .sum::<f32>()
                + 0.01 * hits[a].greatest
        };
        let likings: Vec<f32> = some.iter().map(liking).collect();
        (0..some.len())
            .max_by(|&a, &b| likings[a].total_cmp(&likings[b]))
            .map(|n| some[n])
    }
}

fn add_shifted(sum: &mut [f32], gains: &mut [f32], wave: &[f32], shift: isize, gain: f32) {
    for (n, (sum, gains)) in sum.iter_mut().zip(gains).enumerate() {
        let from = usize::try_from(n as isize + shift).ok();
        if let Some(x) = from.and_then(|n| wave.get(n)) {
            *sum += gain * x;
            *gains += gain;
        }
    }
}
