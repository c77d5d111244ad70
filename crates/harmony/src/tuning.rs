//! How far the notes lie from equal temperament on A4 = 440 Hz (ISO 16).

use crate::tonal_peaks::Tone;

/// Tones below this note are told too coarsely.
const LOWEST_MIDI: f32 = 52.0;
/// Width of the bell that gathers tones, in cents.
const BELL_CENTS: f64 = 9.0;

/// Partials of one tone that lie near equal temperament and yet off it, in semitones
/// above it: the 3rd and 6th (12 log2 of each).
const PARTIALS: [f32; 2] = [19.020, 31.020];
/// How near, in semitones, a tone lies to the partial it is taken for.
const NEAR: f32 = 0.25;

/// Tuning in cents, -50 to 50, and how far the tones agree on it, 0 to 1; `None`
/// without tones.
pub(crate) fn tuning(tones: &[Tone]) -> Option<(f64, f64)> {
    of_tones(&own_tones(tones)).or_else(|| of_tones(tones))
}

/// Tones that are no third or sixth partial of a lower one of the same frame: those lie
/// 2 cents above the notes they fall on.
fn own_tones(tones: &[Tone]) -> Vec<Tone> {
    let frames = tones.chunk_by(|a, b| a.time_s == b.time_s);
    frames
        .flat_map(|frame| {
            let is_partial = |tone: &&Tone| {
                frame.iter().any(|low| {
                    PARTIALS
                        .iter()
                        .any(|over| (tone.midi - low.midi - over).abs() < NEAR)
                })
            };
            frame.iter().filter(move |tone| !is_partial(tone)).copied()
        })
        .collect()
}

fn of_tones(tones: &[Tone]) -> Option<(f64, f64)> {
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

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Frames of one note of A minor each with its 1st to 4th and 6th partial (closed
    /// form: 12 log2 of each).
    fn saws(off_cents: f64) -> Vec<Tone> {
        [57.0, 60.0, 64.0, 65.0]
            .iter()
            .enumerate()
            .flat_map(|(frame, note)| {
                [1u8, 2, 3, 4, 6].into_iter().map(move |partial| Tone {
                    time_s: frame as f64,
                    midi: (note + 0.01 * off_cents + 12.0 * f64::from(partial).log2()) as f32,
                    level_db: -20.0,
                    weight: if partial % 3 == 0 { 1.0 } else { 0.6 },
                })
            })
            .collect()
    }

    #[test]
    fn third_partials_do_not_raise_the_tuning() {
        for off_cents in [-31.0, 0.0, 17.0, 49.0] {
            let (cents, _) = tuning(&saws(off_cents)).unwrap();
            let error = cents - off_cents;
            let error = error - 100.0 * (error / 100.0).round();
            assert!(error.abs() < 0.6, "{cents} for {off_cents}");
        }
    }

    #[test]
    fn partials_alone_still_tell() {
        let both: Vec<Tone> = saws(0.0).into_iter().filter(|t| t.midi > 70.0).collect();
        assert!(tuning(&both).is_some() && tuning(&[]).is_none());
    }
}
