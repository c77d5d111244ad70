//! Hits by sixteenth, and the pattern they make in a bar.

use crate::onset_curve::Onsets;

/// Bands that have a pattern: low, middle, high.
pub(crate) const PATTERN_BANDS: [usize; 3] = [0, 2, 3];
/// Sixteenths in a beat.
pub(crate) const IN_BEAT: usize = 4;
/// Strength from which a hit counts full.
const FULL: f32 = 2.5;

/// Strength of the strongest hit, 0 to 1, by beat, sixteenth and band.
#[derive(Clone, Debug)]
pub(crate) struct Slots {
    beats: Vec<[[f32; 3]; IN_BEAT]>,
}

impl Slots {
    /// Hits between beats at `times`, which rise.
    pub(crate) fn of(curve: &Onsets, times: &[f64]) -> Self {
        let mut beats = vec![[[0.0f32; 3]; IN_BEAT]; times.len()];
        let mut beat = 0;
        let gap_s = match (times.first(), times.last()) {
            (Some(first), Some(last)) if times.len() > 1 => {
                (last - first) / (times.len() - 1) as f64
            }
            _ => return Self { beats },
        };
        for hit in &curve.hits {
            let Some(band) = PATTERN_BANDS.iter().position(|&band| band == hit.band) else {
                continue;
            };
            // a pair of sixteenths starts a tenth of a beat early
            while beat + 1 < times.len() && times[beat + 1] - 0.1 * gap_s <= hit.time_s {
                beat += 1;
            }
            let place = 2.0 * (hit.time_s - times[beat]) / gap_s + 0.2;
            if !(0.0..2.0).contains(&place) {
                continue;
            }
            let pair = place as usize;
            let second = match place - pair as f64 {
                within if within < 0.45 => 0,
                within if within > 0.56 => 1,
                _ => continue,
            };
            let value = (hit.strength / FULL).min(1.0);
            let slot = &mut beats[beat][2 * pair + second][band];
            *slot = slot.max(value);
        }
        Self { beats }
    }

    /// Mean by sixteenth of a bar of `metre` beats that starts at beat 0, each
    /// band against its fullest sixteenth.
    pub(crate) fn pattern(&self, metre: usize) -> Vec<[f64; 3]> {
        let mut sums = vec![[0.0f64; 3]; metre * IN_BEAT];
        for (index, beat) in self.beats.iter().enumerate() {
            for (slot, values) in beat.iter().enumerate() {
                let sum = &mut sums[(index % metre) * IN_BEAT + slot];
                for (sum, value) in sum.iter_mut().zip(values) {
                    *sum += f64::from(*value);
                }
            }
        }
        let bars = self.beats.len() as f64 / metre as f64;
        for band in 0..3 {
            let fullest = sums.iter().map(|sum| sum[band]).fold(0.0, f64::max);
            let scale = 1.0 / (fullest + 0.04 * bars + 0.5);
            sums.iter_mut().for_each(|sum| sum[band] *= scale);
        }
        sums
    }
}
