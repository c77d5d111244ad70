//! The spectrum as a whole stays what it was.
//!
//! Hits that pass at their own speed weigh less in a longer passage, and frames of
//! noise add up to a little less than the noise. So the loop is laid twice: the
//! second time with the gains that its third octaves lacked.

use crate::parts::Parts;
use crate::plan::Passage;
use crate::{spectrum, vocoder};

/// The most that a band is lifted or lowered, in decibels.
const MOST_DB: f64 = 3.0;

/// Bands this far below the strongest are left alone, in decibels.
const FAINT_DB: f64 = 80.0;

/// How often the gains are corrected.
const ROUNDS: usize = 2;

/// Lays the loop so that its third octaves are those of the passage.
pub(crate) fn render(passage: &Passage, parts: &Parts, rate_hz: f64) -> Vec<Vec<f64>> {
    let frames = passage.output_frames();
    let (from, to) = (
        passage.origin.round() as usize,
        passage.end().round() as usize,
    );
    let wanted = spectrum::third_octaves(&passage.channels, from, to, rate_hz);
    let bins = vocoder::window_frames(rate_hz) / 2 + 1;
    let mut gains_db = vec![0.0; wanted.len()];
    let mut output = vocoder::render(&passage.channels, parts, frames, rate_hz, &[]);
    for _ in 0..ROUNDS {
        let found = spectrum::third_octaves(&output, 0, frames, rate_hz);
        let strongest = wanted.iter().copied().fold(0.0, f64::max);
        let faint = strongest * libm::exp10(-FAINT_DB / 10.0);
        for ((gain, wanted), found) in gains_db.iter_mut().zip(&wanted).zip(&found) {
            if *wanted > faint && *found > 0.0 {
                *gain = (*gain + 10.0 * libm::log10(wanted / found)).clamp(-MOST_DB, MOST_DB);
            }
        }
        let gains = by_bin(&gains_db, bins, rate_hz);
        output = vocoder::render(&passage.channels, parts, frames, rate_hz, &gains);
    }
    output
}

/// Linear gains by bin, straight between the centres of the bands on a log axis.
fn by_bin(gains_db: &[f64], bins: usize, rate_hz: f64) -> Vec<f64> {
    let centres = spectrum::centres_hz();
    let first = centres.first().copied().unwrap_or(1.0);
    (0..bins)
        .map(|bin| {
            let hz = bin as f64 * rate_hz / 2.0 / (bins - 1) as f64;
            let place =
                (10.0 * libm::log10((hz / first).max(1.0))).min((gains_db.len() - 1) as f64);
            let low = place as usize;
            let at = |index: usize| {
                gains_db
                    .get(index.min(gains_db.len() - 1))
                    .copied()
                    .unwrap_or(0.0)
            };
            let gain_db = at(low) + (at(low + 1) - at(low)) * (place - low as f64);
            libm::exp10(gain_db / 20.0)
        })
        .collect()
}
