//! Hits that end a silence of their band: where parts come in.

use crate::onset_curve::Onsets;

/// Silence before an entry.
const SILENCE_S: f64 = 2.0;
/// Least strength of a hit that ends or breaks it.
const LEAST: f32 = 1.0;

/// Times of entries in seconds.
#[derive(Clone, Debug, Default)]
pub(crate) struct Entries {
    /// Of the low band.
    pub(crate) low_s: Vec<f64>,
    /// Of the upper bands.
    pub(crate) upper_s: Vec<f64>,
}

impl Entries {
    pub(crate) fn of(curve: &Onsets) -> Self {
        let mut last_s = [0.0f64; 2];
        let mut entries = Self::default();
        for hit in curve.hits.iter().filter(|hit| hit.strength > LEAST) {
            let (group, list) = match hit.band {
                0 => (0, &mut entries.low_s),
                1 => continue,
                _ => (1, &mut entries.upper_s),
            };
            if hit.time_s - last_s[group] > SILENCE_S {
                list.push(hit.time_s);
            }
            last_s[group] = hit.time_s;
        }
        entries
    }
}

/// Share of the times for which `on` holds, held down where there are few.
pub(crate) fn share(times_s: &[f64], on: impl Fn(f64) -> bool) -> f64 {
    let count = times_s.iter().filter(|&&time_s| on(time_s)).count();
    count as f64 / (times_s.len() as f64 + 1.0)
}
