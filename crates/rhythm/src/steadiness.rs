//! Whether hits gather at few places of the beat all through the file.

use crate::onset_curve::Onsets;

/// Least strength of a hit that counts.
const LEAST: f32 = 1.0;
/// Hits nearer than this are one sound.
const ONE_SOUND_S: f64 = 0.012;
/// Half width of a place.
const NEAR_S: f64 = 0.008;
/// Length of the pieces that are compared, and step of places in them.
const PIECE_S: f64 = 8.0;
const PLACE_S: f64 = 0.004;
/// How far hits of a piece may lie off those of the rest.
const HELD_S: f64 = 0.012;
/// Fewest sounds in all and a second that make a rhythm.
const FEWEST: usize = 12;
const FEWEST_A_SECOND: f64 = 0.5;
const STEP_S: f64 = 0.001;

/// Sounds that start, over the file.
#[derive(Clone, Debug)]
pub(crate) struct Sounds {
    /// Time and strength.
    pub(crate) starts: Vec<(f64, f64)>,
    /// Of 1 s.
    pub(crate) rate: f64,
    /// Share of the strong hits that lie in the upper bands.
    pub(crate) upper: f64,
    /// Mean strength.
    pub(crate) strength: f64,
}

impl Sounds {
    pub(crate) fn of(curve: &Onsets) -> Self {
        let mut starts: Vec<(f64, f64)> = Vec::new();
        let (mut upper, mut all) = (0.0, 1e-9);
        for hit in curve.hits.iter().filter(|hit| hit.strength > LEAST) {
            let strength = f64::from(hit.strength);
            all += 1.0;
            if hit.band >= 2 {
                upper += 1.0;
            }
            match starts.last_mut() {
                Some(last) if hit.time_s - last.0 < ONE_SOUND_S => last.1 = last.1.max(strength),
                _ => starts.push((hit.time_s, strength)),
            }
        }
        let count = starts.len().max(1) as f64;
        Self {
            rate: starts.len() as f64 / curve.seconds.max(1e-9),
            upper: upper / all,
            strength: starts.iter().map(|start| start.1).sum::<f64>() / count,
            starts,
        }
    }

    /// Whether there are enough to speak of a rhythm.
    pub(crate) fn enough(&self) -> bool {
        self.starts.len() >= FEWEST && self.rate >= FEWEST_A_SECOND
    }

    /// How far starts gather at few places of a period: one over the number of
    /// places where they do, 0 where they are spread evenly.
    pub(crate) fn gathered(&self, period_s: f64) -> f64 {
        let count = ((period_s / STEP_S) as usize).max(16);
        let step_s = period_s / count as f64;
        let mut folded = vec![0.0f64; count];
        let (mut own, mut sum) = (0.0, 0.0);
        for &(time_s, strength) in &self.starts {
            let place = (time_s / period_s).rem_euclid(1.0) * count as f64;
            folded[(place as usize) % count] += strength;
            own += strength * strength;
            sum += strength;
        }
        let pairs = sum * sum - own;
        if self.starts.len() < 2 || pairs <= 0.0 {
            return 0.0;
        }
        let reach = (NEAR_S / step_s) as usize;
        let kernel: Vec<f64> = (0..=2 * reach)
            .map(|k| 1.0 - (k as f64 - reach as f64).abs() / (reach as f64 + 1.0))
            .collect();
        let width: f64 = kernel.iter().sum::<f64>() / count as f64;
        let mut together = -own;
        for (index, weight) in folded.iter().enumerate().filter(|(_, w)| **w > 0.0) {
            for (k, near) in kernel.iter().enumerate() {
                let other = (index + count + k - reach) % count;
                together += weight * near * folded[other];
            }
        }
        let near = together / pairs;
        ((near - width) / (0.8 - width)).max(0.0)
    }

    /// Share of the file, 0 to 1, in which hits lie where they lie in the rest,
    /// to [`HELD_S`], by pieces of about 8 s.
    pub(crate) fn held(&self, period_s: f64) -> f64 {
        let (Some(first), Some(last)) = (self.starts.first(), self.starts.last()) else {
            return 0.0;
        };
        let span_s = last.0 - first.0;
        let pieces = ((span_s / PIECE_S) as usize).clamp(2, 40);
        let count = ((period_s / PLACE_S) as usize).max(16);
        let mut folds = vec![vec![0.0f64; count]; pieces];
        let mut whole = vec![0.0f64; count];
        for &(time_s, strength) in &self.starts {
            let piece = ((time_s - first.0) / span_s.max(1e-9) * pieces as f64) as usize;
            let place = (time_s / period_s).rem_euclid(1.0) * count as f64;
            let place = (place as usize) % count;
            folds[piece.min(pieces - 1)][place] += strength;
            whole[place] += strength;
        }
        let reach = (HELD_S / PLACE_S) as usize;
        let (mut held, mut all) = (0.0, 1e-9);
        for fold in &folds {
            let rest: Vec<f64> = whole.iter().zip(fold).map(|(all, own)| all - own).collect();
            let alike = |turn: usize| -> f64 {
                (0..count)
                    .filter(|&place| fold[place] > 0.0)
                    .map(|place| {
                        let at = place + turn + count;
                        let near = rest[(at - 1) % count] + rest[(at + 1) % count];
                        fold[place] * (rest[at % count] + 0.5 * near)
                    })
                    .sum()
            };
            let weight: f64 = fold.iter().sum();
            let turns: Vec<f64> = (0..count).map(alike).collect();
            let best = turns.iter().copied().fold(0.0, f64::max);
            let near = (0..=reach)
                .flat_map(|turn| [turns[turn % count], turns[(count - turn) % count]])
                .fold(0.0, f64::max);
            all += weight;
            if near > 0.0 && near >= 0.8 * best {
                held += weight;
            }
        }
        held / all
    }
}
