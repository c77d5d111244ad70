//! How far the notes lie from equal temperament on A4 = 440 Hz (ISO 16).

use crate::tonal_peaks::Tone;

/// Tones below this note are told too coarsely.
const LOWEST_MIDI: f32 = 52.0;
/// Width of the bell that gathers tones, in cents.
const BELL_CENTS: f64 = 6.0;

/// Tuning in cents, -50 to 50, and how far the tones agree on it, 0 to 1; `None`
/// without tones.
pub(crate) fn tuning(tones: &[Tone]) -> Option<(f64, f64)> {
    let mut histogram = [0.0; 100];
    for tone in tones.iter().filter(|tone| tone.midi >= LOWEST_MIDI) {
        let cents = f64::from(100.0 * (tone.midi - tone.midi.round()));
        histogram[(cents + 50.0).floor().clamp(0.0, 99.0) as usize] +=
            f64::from(tone.weight * tone.weight);
    }
    let total: f64 = histogram.iter().sum();
    if total <= 0.0 {
        return None;
    }
    let bell: [f64; 100] = std::array::from_fn(|offset| {
        let distance = (offset as f64).min(100.0 - offset as f64);
        (-0.5 * (distance / BELL_CENTS).powi(2)).exp()
    });
    let smooth: [f64; 100] = std::array::from_fn(|at| {
        (0..100)
            .map(|from| histogram[from] * bell[(100 + at - from) % 100])
            .sum()
    });
    let best = (0..100).max_by(|&a, &b| smooth[a].total_cmp(&smooth[b]))?;
    // centre of gravity around the top
    let (mut moment, mut mass) = (0.0, 0.0);
    for step in -12i32..=12 {
        let weight = histogram[(100 + best as i32 + step) as usize % 100]
            * bell[step.unsigned_abs() as usize];
        moment += weight * f64::from(step);
        mass += weight;
    }
    let cents = best as f64 - 49.5 + if mass > 0.0 { moment / mass } else { 0.0 };
    let near: f64 = (-15i32..=15)
        .map(|step| histogram[(100 + best as i32 + step) as usize % 100])
        .sum();
    Some((cents - 100.0 * (cents / 100.0).round(), near / total))
}
