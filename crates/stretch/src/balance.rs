//! The spectrum as a whole stays what it was.
//!
//! Hits that pass at their own speed weigh less in a longer passage, and frames of
//! noise add up to a little less than the noise. So the loop is laid twice: the
//! second time with the gains that its third octaves lacked.

use crate::parts::Parts;
use crate::plan::Passage;
use crate::{spectrum, vocoder};

/// The most that a band is lifted or lowered, in decibels.
const MOST_DB: f64 = 6.0;

/// Bands this far below the strongest are left alone, in decibels.
const FAINT_DB: f64 = 80.0;

/// Near enough, in decibels.
const NEAR_DB: f64 = 0.1;

/// How often the gains are corrected at most.
const ROUNDS: usize = 4;

/// Lays the loop so that its third octaves are those of the passage.
pub(crate) fn render(passage: &Passage, parts: &Parts, rate_hz: f64) -> Vec<Vec<f64>> {
    let (from, to) = (
        passage.origin.round() as usize,
        passage.end().round() as usize,
    );
    let wanted = spectrum::third_octaves(&passage.channels, from, to, rate_hz);
    let mut gains_db = vec![0.0; wanted.len()];
    let mut output = vocoder::render(passage, parts, rate_hz, |_| 1.0);
    for _ in 0..ROUNDS {
        let found = spectrum::third_octaves(&output, 0, passage.output_frames(), rate_hz);
        let strongest = wanted.iter().copied().fold(0.0, f64::max);
        let faint = strongest * libm::exp10(-FAINT_DB / 10.0);
        let lacking = wanted
            .iter()
            .zip(&found)
            .map(|(wanted, found)| match found {
                _ if *wanted <= faint || *found <= 0.0 => 0.0,
                _ => 10.0 * libm::log10(wanted / found),
            });
        let lacking: Vec<f64> = lacking.collect();
        if lacking.iter().all(|lacking_db| lacking_db.abs() < NEAR_DB) {
            break;
        }
        for (gain_db, lacking_db) in gains_db.iter_mut().zip(&lacking) {
            *gain_db = (*gain_db + lacking_db).clamp(-MOST_DB, MOST_DB);
        }
        output = vocoder::render(passage, parts, rate_hz, |hz| gain_at(&gains_db, hz));
    }
    output
}

/// The linear gain at a frequency, straight between the centres on a log axis.
fn gain_at(gains_db: &[f64], hz: f64) -> f64 {
    let first = spectrum::centres_hz().first().copied().unwrap_or(1.0);
    let last = gains_db.len().saturating_sub(1);
    let place = (10.0 * libm::log10((hz / first).max(1.0))).min(last as f64);
    let low = place as usize;
    let at = |index: usize| gains_db.get(index.min(last)).copied().unwrap_or(0.0);
    let gain_db = at(low) + (at(low + 1) - at(low)) * (place - low as f64);
    libm::exp10(gain_db / 20.0)
}
