//! Which stretches to look at: few, and such that every track sounds in some.

use crate::thresholds::{SOUNDS_ABOVE_LUFS, SOUNDS_WITHIN_LU};

/// Momentary values in one slot of half a second.
const VALUES_A_SLOT: usize = 5;

/// Length of a slot.
pub(crate) const SLOT_S: f64 = 0.5;

/// A momentary curve and how far the track was moved, in values (0.1 s).
pub(crate) struct Curve<'a> {
    pub momentary_lufs: &'a [f32],
    pub shift_values: i64,
}

/// Picks up to `count` slots within `allowed`, in order of time.
///
/// Greedy: each pick is the slot where the tracks seen least so far sound most;
/// ties go to the earlier one, so the choice is always the same.
pub(crate) fn pick_slots(
    curves: &[Curve],
    allowed: std::ops::Range<usize>,
    count: usize,
) -> Vec<usize> {
    let energies: Vec<Vec<f32>> = curves
        .iter()
        .map(|curve| slot_energies(curve, &allowed))
        .collect();
    let mut covered = vec![0.0f64; curves.len()];
    let mut taken = vec![false; allowed.len()];
    let mut picked = Vec::new();
    while picked.len() < count.min(allowed.len()) {
        let Some(best) = best_slot(&energies, &covered, &taken) else {
            break;
        };
        taken[best] = true;
        picked.push(best + allowed.start);
        for (sum, energy) in covered.iter_mut().zip(&energies) {
            *sum += f64::from(energy[best]);
        }
    }
    picked.sort_unstable();
    picked
}

fn best_slot(energies: &[Vec<f32>], covered: &[f64], taken: &[bool]) -> Option<usize> {
    let weights: Vec<f64> = covered
        .iter()
        .map(|c| 1.0 / ((1.0 + c) * (1.0 + c)))
        .collect();
    let mut best: Option<(usize, f64)> = None;
    for (slot, _) in taken.iter().enumerate().filter(|(_, taken)| !**taken) {
        let value: f64 = energies
            .iter()
            .zip(&weights)
            .map(|(energy, weight)| f64::from(energy[slot]) * weight)
            .sum();
        if value > 0.0 && best.is_none_or(|(_, most)| value > most) {
            best = Some((slot, value));
        }
    }
    best.map(|(slot, _)| slot)
}

/// Energy of every allowed slot relative to the track's loudest, 0 where it
/// does not sound.
fn slot_energies(curve: &Curve, allowed: &std::ops::Range<usize>) -> Vec<f32> {
    let loudest = curve
        .momentary_lufs
        .iter()
        .copied()
        .filter(|value| value.is_finite())
        .fold(f32::NEG_INFINITY, f32::max);
    let floor = (loudest - SOUNDS_WITHIN_LU as f32).max(SOUNDS_ABOVE_LUFS as f32);
    let value_at = |slot: usize, step: usize| -> f32 {
        // Values that end 0.3 to 0.7 s after the slot begins are centred in it.
        let index = (slot * VALUES_A_SLOT + 2 + step) as i64 - curve.shift_values;
        let value = usize::try_from(index)
            .ok()
            .and_then(|index| curve.momentary_lufs.get(index))
            .copied()
            .unwrap_or(f32::NEG_INFINITY);
        if value >= floor {
            10f32.powf((value - loudest) / 10.0)
        } else {
            0.0
        }
    };
    allowed
        .clone()
        .map(|slot| {
            (0..VALUES_A_SLOT)
                .map(|step| value_at(slot, step))
                .sum::<f32>()
                / 5.0
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_track_that_sounds_once_is_seen() {
        let always = vec![-20.0f32; 600];
        let mut once = vec![f32::NEG_INFINITY; 600];
        once[412..420].fill(-30.0);
        let curves = [&always, &once].map(|curve| Curve {
            momentary_lufs: curve,
            shift_values: 0,
        });
        let slots = pick_slots(&curves, 0..120, 4);
        assert_eq!(slots.len(), 4);
        assert!(slots.contains(&82), "slots {slots:?}");
    }

    #[test]
    fn silence_is_not_picked() {
        let silent = vec![f32::NEG_INFINITY; 100];
        let curves = [Curve {
            momentary_lufs: &silent,
            shift_values: 0,
        }];
        assert!(pick_slots(&curves, 0..20, 4).is_empty());
    }
}
