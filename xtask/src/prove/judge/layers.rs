//! Layers of a reference: how many of the true ones within 20 dB of the loudest are
//! found, and how many of those found are real.
//!
//! A layer found is a true one if each has at least half of its places in the bar in
//! common with the other, their bands overlap (in octaves) by half of the narrower,
//! and their sides differ by 0.35 at most. Each layer counts once; the parts of a
//! pair (two shakers, two pads) are one true layer that may be found on either side.

use crate::prove::answers::LayerAnswer;
use crate::prove::truth::TrueLayer;

const RANGE_LU: f64 = 20.0;
const SIDE: f64 = 0.35;

struct Known {
    places: Vec<usize>,
    slots: usize,
    /// Of each part.
    bands: Vec<(f64, f64)>,
    sides: Vec<f64>,
    lufs: f64,
}

/// What was counted.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Count {
    /// True layers within the range, and how many of them were found.
    pub known: usize,
    pub found: usize,
    /// Layers answered, and how many of them are true ones of any level.
    pub answered: usize,
    pub real: usize,
}

/// Pairs the layers answered with the true ones.
pub(crate) fn count(truth: &[TrueLayer], answers: &[LayerAnswer], step_s: f64) -> Count {
    let known = merged(truth, step_s);
    let loudest = known
        .iter()
        .map(|k| k.lufs)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut left: Vec<usize> = known.iter().map(|k| k.sides.len()).collect();
    let mut seen = vec![false; known.len()];
    let mut real = 0;
    for answer in answers {
        let best = (0..known.len())
            .filter(|&k| left[k] > 0)
            .filter_map(|k| Some((k, agreement(&known[k], answer)?)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((index, _)) = best {
            left[index] -= 1;
            seen[index] = true;
            real += 1;
        }
    }
    let within = |k: &usize| known[*k].lufs >= loudest - RANGE_LU;
    let inside: Vec<usize> = (0..known.len()).filter(within).collect();
    Count {
        known: inside.len(),
        found: inside.iter().filter(|&&k| seen[k]).count(),
        answered: answers.len(),
        real,
    }
}

/// Parts of one role become one.
fn merged(truth: &[TrueLayer], step_s: f64) -> Vec<Known> {
    let mut roles: Vec<&str> = Vec::new();
    for layer in truth {
        if !roles.contains(&layer.role.as_str()) {
            roles.push(&layer.role);
        }
    }
    let of = |role: &str| {
        let parts: Vec<&TrueLayer> = truth.iter().filter(|l| l.role == role).collect();
        let slots = parts.iter().map(|l| l.steps.len()).max().unwrap_or(0);
        let mut places: Vec<usize> = parts.iter().flat_map(|l| places(l, step_s)).collect();
        places.sort_unstable();
        places.dedup();
        let energy: f64 = parts.iter().map(|l| 10f64.powf(l.lufs / 10.0)).sum();
        Known {
            places,
            slots,
            bands: parts.iter().map(|l| (l.low_hz, l.high_hz)).collect(),
            sides: parts.iter().map(|l| l.balance).collect(),
            lufs: 10.0 * energy.log10(),
        }
    };
    roles.into_iter().map(of).collect()
}

/// Sixteenths that a layer sounds in: where its notes start in half of the bars, and
/// as long as they are held.
fn places(layer: &TrueLayer, step_s: f64) -> Vec<usize> {
    let slots = layer.steps.len();
    let most = layer.steps.iter().copied().fold(0.0, f64::max);
    let held = ((layer.note_s / step_s).round() as usize).clamp(1, slots.max(1));
    let often = |slot: &usize| layer.steps[*slot] >= 0.5 * most && most > 0.0;
    // hits and short notes stand where they start
    let held = if held <= 3 { 1 } else { held };
    (0..slots)
        .filter(often)
        .flat_map(|slot| (0..held).map(move |more| (slot + more) % slots))
        .collect()
}

/// How well they agree, if they do.
fn agreement(known: &Known, answer: &LayerAnswer) -> Option<f64> {
    let slots = known.slots;
    if slots == 0 || answer.places.is_empty() || known.places.is_empty() {
        return None;
    }
    // a pattern of several bars is folded into one
    let mut given: Vec<usize> = answer.places.iter().map(|place| place % slots).collect();
    given.sort_unstable();
    given.dedup();
    let common = given.iter().filter(|p| known.places.contains(p)).count() as f64;
    let shared = (common / given.len() as f64).min(common / known.places.len() as f64);
    let band = known
        .bands
        .iter()
        .map(|band| overlap(*band, answer.band_hz))
        .fold(0.0, f64::max);
    let near = |side: &f64| (side - answer.side).abs() <= SIDE;
    let fits = shared >= 0.5 && band >= 0.5 && known.sides.iter().any(near);
    fits.then_some(shared + band)
}

/// Common part of two bands over the narrower, in octaves; a narrow one counts as a
/// third of an octave.
fn overlap(one: (f64, f64), other: (f64, f64)) -> f64 {
    let octaves = |(low, high): (f64, f64)| {
        let (low, high) = (low.max(20.0).log2(), high.max(20.0).log2());
        let middle = 0.5 * (low + high);
        let half = (0.5 * (high - low)).max(1.0 / 6.0);
        (middle - half, middle + half)
    };
    let (a, b) = (octaves(one), octaves(other));
    let common = (a.1.min(b.1) - a.0.max(b.0)).max(0.0);
    common / (a.1 - a.0).min(b.1 - b.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(role: &str, hits: &[usize], band: (f64, f64), balance: f64, lufs: f64) -> TrueLayer {
        let mut steps = vec![0.0; 16];
        hits.iter().for_each(|&slot| steps[slot] = 1.0);
        TrueLayer {
            role: role.to_owned(),
            steps,
            note_s: 0.0,
            low_hz: band.0,
            high_hz: band.1,
            lufs,
            balance,
        }
    }

    fn answer(places: &[usize], band_hz: (f64, f64), side: f64) -> LayerAnswer {
        LayerAnswer {
            places: places.to_vec(),
            slots: 16,
            band_hz,
            side,
            level_db: 0.0,
            sustained: false,
            sure: None,
        }
    }

    #[test]
    fn found_and_real_are_counted_apart() {
        let truth = [
            known("kick", &[0, 4, 8, 12], (45.0, 120.0), 0.0, -10.0),
            known("open hat", &[2, 6, 10, 14], (5e3, 12e3), -0.2, -18.0),
            known(
                "shaker",
                &[0, 2, 4, 6, 8, 10, 12, 14],
                (4e3, 11e3),
                -0.6,
                -22.0,
            ),
            known(
                "shaker",
                &[0, 2, 4, 6, 8, 10, 12, 14],
                (4e3, 11e3),
                0.6,
                -22.0,
            ),
            known("toms", &[15], (90.0, 200.0), 0.0, -40.0),
        ];
        let all = [
            answer(&[0, 4, 8, 12], (40.0, 100.0), 0.0),
            answer(&[2, 6, 10, 14], (6e3, 12e3), 0.0),
            answer(&[0, 2, 4, 6, 8, 10, 12, 14], (5e3, 9e3), 0.5),
        ];
        let counted = count(&truth, &all, 0.125);
        assert_eq!((counted.known, counted.found), (3, 3));
        assert_eq!((counted.answered, counted.real), (3, 3));
        // an invented one, a kick named twice, one on the wrong side
        let wrong = [
            answer(&[3], (800.0, 2000.0), 0.0),
            all[0].clone(),
            all[0].clone(),
            answer(&[2, 6, 10, 14], (6e3, 12e3), 1.0),
        ];
        let counted = count(&truth, &wrong, 0.125);
        assert_eq!((counted.found, counted.real, counted.answered), (1, 1, 4));
        assert_eq!(count(&truth, &[], 0.125).found, 0);
    }

    #[test]
    fn held_notes_fill_their_length() {
        let mut pad = known("pad", &[0], (200.0, 900.0), 0.0, -12.0);
        pad.note_s = 2.0;
        let full: Vec<usize> = (0..16).collect();
        let counted = count(&[pad.clone()], &[answer(&full, (250.0, 800.0), 0.1)], 0.125);
        assert_eq!(counted.found, 1);
        let counted = count(&[pad], &[answer(&[0], (250.0, 800.0), 0.1)], 0.125);
        assert_eq!(counted.found, 0);
    }
}
