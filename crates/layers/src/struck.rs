//! Struck layers: what comes in at the same places of every bar.

use crate::bands::BANDS;
use crate::candidate::Candidate;
use crate::describe::band_of;
use crate::fold::STEPS;
use crate::nmf::Factors;
use crate::places::pattern;
use crate::rises::{EXPONENT, ROWS, Rises, VIEWS};
use crate::strand::Strand;
use crate::zones::ZONES;

const ROUNDS: usize = 60;
/// How firmly the shapes are held to their start.
const HOLD: f32 = 0.3;
/// Weakest hit that counts against the strongest, as a power; tried one by one:
/// -13 and -7 dB.
const WEAKEST: [f32; 2] = [0.05, 0.2];
/// A place is played in a bar where at least this share of its mean is there.
const PLAYED: f32 = 0.35;
/// Parts that may be one sound together.
pub(crate) const TOGETHER: [&[usize]; 27] = [
    &[1, 2],
    &[1, 3],
    &[2, 3],
    &[1, 2, 3],
    &[0, 1],
    &[0, 3],
    &[0, 4],
    &[0, 5],
    &[3, 4],
    &[2, 4],
    &[5, 6],
    &[4, 5],
    &[6, 9],
    &[5, 9],
    &[7, 8],
    &[7, 9],
    &[8, 9],
    &[7, 8, 9],
    &[2, 7],
    &[10, 11],
    &[10, 13],
    &[11, 13],
    &[10, 11, 13],
    &[12, 13],
    &[10, 12],
    &[11, 12],
    &[10, 11, 12, 13],
];

/// Number of searches.
pub(crate) const STRUCK: usize = ZONES.len() + TOGETHER.len();

/// Looks for struck layers.
pub(crate) fn struck(mix: &Strand, rises: &Rises) -> Vec<Candidate> {
    let columns = rises.columns;
    if columns == 0 {
        return Vec::new();
    }
    let shapes: Vec<Vec<f32>> = ZONES.iter().map(|zone| zone.start()).collect();
    let mean = rises.mean.iter().sum::<f32>() / columns as f32 / shapes.len() as f32;
    let mut factors = Factors {
        columns,
        gains: vec![vec![mean.max(1e-9); columns]; shapes.len()],
        shapes,
    };
    factors.normalise();
    factors.refine(&rises.mean, ROUNDS, HOLD);
    let mut model = vec![0.0; rises.mean.len()];
    factors.model(&mut model);
    let mut found = Vec::new();
    for search in 0..STRUCK {
        let part = match search.checked_sub(ZONES.len()) {
            None => Part::of(&factors, &[search]),
            Some(union) => Part::of(&factors, TOGETHER[union]),
        };
        let mut before: Option<Vec<usize>> = None;
        for weakest in WEAKEST {
            let one = candidate(mix, rises, &model, &part, search, weakest);
            if let Some(one) = one.filter(|one| before.as_ref() != Some(&one.pattern.places)) {
                before = Some(one.pattern.places.clone());
                found.push(one);
            }
        }
    }
    found
}

/// One or several factors as one sound.
struct Part {
    shape: Vec<f32>,
    gains: Vec<f32>,
}

impl Part {
    fn of(factors: &Factors, parts: &[usize]) -> Self {
        let mut shape = vec![0.0f32; ROWS];
        let mut gains = vec![0.0f32; factors.columns];
        let mut all = 0.0f32;
        for &part in parts {
            let sum: f32 = factors.gains[part].iter().sum();
            all += sum;
            for (to, from) in shape.iter_mut().zip(&factors.shapes[part]) {
                *to += sum * from;
            }
            for (to, from) in gains.iter_mut().zip(&factors.gains[part]) {
                *to += from;
            }
        }
        shape.iter_mut().for_each(|x| *x /= all.max(1e-12));
        Self { shape, gains }
    }
}

fn candidate(
    mix: &Strand,
    rises: &Rises,
    model: &[f32],
    part: &Part,
    origin: usize,
    weakest: f32,
) -> Option<Candidate> {
    let (shape, gains) = (&part.shape, &part.gains);
    let columns = rises.columns;
    let most = gains.iter().copied().fold(0.0, f32::max);
    let power = |x: f32| x.powf(1.0 / EXPONENT);
    let floor = most * weakest.powf(EXPONENT);
    let on: Vec<bool> = gains.iter().map(|&gain| gain > floor).collect();
    if most <= 1e-7 {
        return None;
    }
    // one bar where both bars are alike
    let both: Vec<bool> = on.iter().chain(&on).copied().collect();
    let found = pattern(&both, mix.slots, 0.51);
    if found.places.is_empty() {
        return None;
    }
    let mut spectrum = [0.0; BANDS];
    let (mut left, mut right, mut apart) = (0.0f32, 0.0f32, 0.0f32);
    let mut kept = [0.0f32; 2];
    for band in 0..BANDS {
        let rows = &shape[band * VIEWS..(band + 1) * VIEWS];
        let (l, r) = (power(rows[0]), power(rows[1]));
        spectrum[band] = f64::from(l + r);
        left += l;
        right += r;
        apart += power(rows[2]);
        kept[0] += 2.0 * power(rows[3]);
        kept[1] += 2.0 * power(rows[4]);
    }
    let total = left + right;
    if total <= 0.0 {
        return None;
    }
    let balance = f64::from((right - left) / total).clamp(-1.0, 1.0);
    let span = found.bars * mix.slots;
    let strength: f32 = found
        .places
        .iter()
        .map(|&at| power(gains[at % columns]))
        .sum();
    let kept = [kept[0] / total, kept[1] / total];
    // a hit is not longer than the way to the next one
    let to_next = (found.bars * mix.slots * STEPS) as f64 / found.places.len() as f64;
    let length_ms = 1000.0 * mix.step_s * length_steps(kept).min(to_next);
    let steps = length_ms / (1000.0 * mix.step_s);
    // weighted mean over the passage of what it adds
    let mean_power = f64::from(total * strength) * steps.min(16.0) / (span * 4) as f64;
    let (own, contrast) = shares(rises, model, part, &on);
    let (played, elsewhere) = presence(rises, shape, gains, &on);
    Some(Candidate {
        origin,
        fit: found.fit,
        pattern: found,
        sustained: false,
        band_hz: band_of(&spectrum),
        length_ms,
        side: balance.asin() / std::f64::consts::FRAC_PI_2,
        wide: f64::from(2.0 * apart / total).clamp(0.0, 1.0),
        power: mean_power,
        own,
        contrast,
        played,
        elsewhere,
        kept: [f64::from(kept[0]), f64::from(kept[1])],
    })
}

/// Steps until a hit has fallen by 12 dB, from what is left of it after 2.5 and
/// after 5.5 steps.
fn length_steps(kept: [f32; 2]) -> f64 {
    let falls = |left: f32, after: f64| {
        let db = -10.0 * f64::from(left.clamp(1e-6, 0.99)).log10();
        after * 12.0 / db
    };
    if kept[1] > 0.06 {
        falls(kept[1], 5.5).clamp(4.0, 32.0)
    } else {
        falls(kept[0], 2.5).clamp(1.0, 5.5)
    }
}

/// The part's share of what comes in at its places in its bands, and how far its
/// places stand out.
fn shares(rises: &Rises, model: &[f32], part: &Part, on: &[bool]) -> (f64, f64) {
    let columns = rises.columns;
    let (shape, gains) = (&part.shape, &part.gains);
    let (mut own, mut all) = (0.0f32, 0.0f32);
    for (row, &weight) in shape.iter().enumerate() {
        if row % VIEWS > 1 || weight <= 0.0 {
            continue;
        }
        for (column, _) in on.iter().enumerate().filter(|(_, on)| **on) {
            let here = weight * gains[column];
            own += weight * here;
            all += weight * model[row * columns + column].max(here);
        }
    }
    let mean = |wanted: bool| {
        let (mut sum, mut count) = (0.0f32, 0.0f32);
        for (&gain, _) in gains.iter().zip(on).filter(|(_, on)| **on == wanted) {
            sum += gain;
            count += 1.0;
        }
        sum / count.max(1.0)
    };
    let contrast = 1.0 - mean(false) / mean(true).max(1e-12);
    (f64::from(own / all.max(1e-12)), f64::from(contrast))
}

/// Share of bars in which its places are played, and of other sixteenths in which
/// something like it is.
fn presence(rises: &Rises, shape: &[f32], gains: &[f32], on: &[bool]) -> (f64, f64) {
    let energy: f32 = shape.iter().map(|x| x * x).sum();
    let places: Vec<f32> = gains
        .iter()
        .zip(on)
        .filter(|(_, on)| **on)
        .map(|(&gain, _)| gain)
        .collect();
    let typical = places.iter().sum::<f32>() / places.len().max(1) as f32;
    let (mut played, mut of) = (0usize, 0usize);
    let (mut elsewhere, mut others) = (0usize, 0usize);
    for (slot, rises_here) in rises.every.iter().enumerate() {
        let column = slot % rises.columns;
        let here: f32 = (0..ROWS)
            .map(|row| shape[row] * rises_here[row])
            .sum::<f32>()
            / energy;
        if on[column] {
            of += 1;
            played += usize::from(here > PLAYED * gains[column]);
        } else {
            others += 1;
            elsewhere += usize::from(here > PLAYED * typical);
        }
    }
    (
        played as f64 / of.max(1) as f64,
        elsewhere as f64 / others.max(1) as f64,
    )
}
