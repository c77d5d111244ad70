//! Where the bounce lies relative to the tracks, and which way up it is.
//!
//! Excerpts of the plain sum of the tracks are looked for in the bounce: first
//! within half a second, then, if they are not found there, within 40 s.

use crate::TrustError;
use crate::correlate::{correlate, difference, energy, largest, local_energy};
use crate::feed::{Feed, Placed, PlacedStream};
use crate::gram::BLOCK_FRAMES;
use crate::pairs::read_sides;
use crate::windows::SLOT_S;

/// Excerpts looked for.
const EXCERPTS: usize = 10;

/// Lags tried first; encoders and look-ahead delay by less.
const NEAR_S: f64 = 0.5;

/// Lags tried where the near ones do not fit.
const FAR_S: f64 = 40.0;

/// Correlation at which a near lag is taken without looking further (common
/// practice, no source).
const SURE: f64 = 0.5;

/// Below this the bounce is not of this music (common practice, no source).
const FAINT: f64 = 0.06;

/// Each step of the far search is this many samples.
const FAR_STEP: usize = 16;

/// Lag and polarity of the bounce.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Alignment {
    /// Frames by which the bounce is later than the tracks.
    pub lag_frames: i64,
    /// +1, or -1 where the bounce is upside down.
    pub sign: f64,
    /// Correlation of the first differences there, 0 to 1.
    pub correlation: f64,
}

/// Finds the bounce's place. `near_slots` lie where both play if nothing was
/// moved, `far_slots` anywhere in the tracks. `None` where nothing in it resembles the tracks.
pub(crate) fn align(
    tracks: &[Placed],
    bounce: Placed,
    near_slots: &[usize],
    far_slots: &[usize],
    rate_hz: u32,
) -> Result<Option<Alignment>, TrustError> {
    let excerpts_near = excerpts(tracks, near_slots, rate_hz)?;
    let mut stream = PlacedStream::open(&bounce)?;
    let near_frames = (NEAR_S * f64::from(rate_hz)) as i64;
    let near = search(&excerpts_near, &mut stream, 0, near_frames)?;
    if let Some(found) = near.filter(|found| found.correlation >= SURE) {
        return Ok(Some(found));
    }
    let excerpts_far = excerpts(tracks, far_slots, rate_hz)?;
    let far = match search_far(&excerpts_far, &mut stream, rate_hz)? {
        Some(lag) => search(&excerpts_far, &mut stream, lag, 4 * FAR_STEP as i64)?,
        None => None,
    };
    let best = match (near, far) {
        (Some(near), Some(far)) if far.correlation > 1.1 * near.correlation => Some(far),
        (near, far) => near.or(far),
    };
    Ok(best.filter(|found| found.correlation >= FAINT))
}

/// Middle channel of the plain sum, first differences, at one place.
struct Excerpt {
    start: i64,
    samples: Vec<f64>,
}

fn excerpts(tracks: &[Placed], slots: &[usize], rate_hz: u32) -> Result<Vec<Excerpt>, TrustError> {
    let length = (SLOT_S * f64::from(rate_hz)) as usize;
    let mut feed = Feed::open(tracks, BLOCK_FRAMES)?;
    let gains = vec![1.0; tracks.len()];
    let mut mixed = vec![0.0; 2 * BLOCK_FRAMES];
    let every = (slots.len() / EXCERPTS).max(1);
    let mut found = Vec::new();
    for &slot in slots.iter().step_by(every) {
        let start = slot * length;
        let mut samples = Vec::with_capacity(length);
        while samples.len() < length {
            let now = BLOCK_FRAMES.min(length - samples.len());
            feed.read((start + samples.len()) as u64, now)?;
            feed.mix(&gains, &mut mixed);
            let (left, right) = mixed.split_at(BLOCK_FRAMES);
            samples.extend((0..now).map(|i| left[i] + right[i]));
        }
        difference(&mut samples);
        samples[0] = 0.0;
        if energy(&samples) > 0.0 {
            let start = start as i64;
            found.push(Excerpt { start, samples });
        }
    }
    Ok(found)
}

fn middle(stream: &mut PlacedStream, start: i64, length: usize) -> Result<Vec<f64>, TrustError> {
    let [mut left, right] = read_sides(stream, start, length)?;
    for (sample, other) in left.iter_mut().zip(&right) {
        *sample += other;
    }
    difference(&mut left);
    left[0] = 0.0;
    Ok(left)
}

/// Best lag within `reach` of `around`, all excerpts together.
fn search(
    excerpts: &[Excerpt],
    stream: &mut PlacedStream,
    around: i64,
    reach: i64,
) -> Result<Option<Alignment>, TrustError> {
    let mut products = vec![0.0; 2 * reach as usize + 1];
    let mut energies = vec![0.0; products.len()];
    let mut template_energy = 0.0;
    for excerpt in excerpts {
        let length = excerpt.samples.len();
        let signal = middle(
            stream,
            excerpt.start + around - reach,
            length + 2 * reach as usize,
        )?;
        template_energy += energy(&excerpt.samples);
        for (sum, value) in products
            .iter_mut()
            .zip(correlate(&excerpt.samples, &signal))
        {
            *sum += value;
        }
        for (sum, value) in energies.iter_mut().zip(local_energy(&signal, length)) {
            *sum += value;
        }
    }
    let loudest = energies.iter().copied().fold(0.0, f64::max);
    if loudest <= 0.0 || template_energy <= 0.0 {
        return Ok(None);
    }
    // A quiet stretch of the bounce must not win by its quietness.
    let normalised: Vec<f64> = products
        .iter()
        .zip(&energies)
        .map(|(product, energy)| product / (energy.max(0.01 * loudest) * template_energy).sqrt())
        .collect();
    Ok(largest(&normalised).map(|best| Alignment {
        lag_frames: around + best as i64 - reach,
        sign: normalised[best].signum(),
        correlation: normalised[best].abs(),
    }))
}

/// Rough lag within 40 s, from thinned samples, so that few
/// values cover much time; the fine search settles the sample and the sign.
fn search_far(
    excerpts: &[Excerpt],
    stream: &mut PlacedStream,
    rate_hz: u32,
) -> Result<Option<i64>, TrustError> {
    let reach = (FAR_S * f64::from(rate_hz)) as usize / FAR_STEP;
    let mut products = vec![0.0; 2 * reach + 1];
    for excerpt in excerpts {
        let template = thin(&excerpt.samples);
        let start = excerpt.start - (reach * FAR_STEP) as i64;
        let mut signal = Vec::with_capacity(template.len() + 2 * reach);
        let mut at = start;
        while signal.len() < template.len() + 2 * reach {
            signal.extend(thin(&middle(stream, at, 4096 * FAR_STEP)?));
            at += (4096 * FAR_STEP) as i64;
        }
        signal.truncate(template.len() + 2 * reach);
        let scale = energy(&template).sqrt();
        let energies = local_energy(&signal, template.len());
        let mean = energies.iter().sum::<f64>() / energies.len().max(1) as f64;
        for ((sum, value), energy) in products
            .iter_mut()
            .zip(correlate(&template, &signal))
            .zip(&energies)
        {
            *sum += value / (scale * (energy + 0.1 * mean).sqrt()).max(f64::MIN_POSITIVE);
        }
    }
    Ok(largest(&products).map(|best| (best as i64 - reach as i64) * FAR_STEP as i64))
}

/// Every sixteenth sample after a running mean over twice as many.
fn thin(samples: &[f64]) -> Vec<f64> {
    (0..samples.len() / FAR_STEP)
        .map(|index| {
            let start = index * FAR_STEP;
            let end = (start + 2 * FAR_STEP).min(samples.len());
            samples[start..end].iter().sum::<f64>() / (2 * FAR_STEP) as f64
        })
        .collect()
}
