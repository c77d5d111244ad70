//! Time stretching and transposing of a passage, for listening.
//!
//! [`stretch`] lays a passage on another grid: each pair of a [`StretchPlan`] says
//! which moment of the input sounds at which moment of the output. The result is a
//! loop whose end joins its start. Measures never come from it.
//!
//! How it works: the passage is cut at its onsets. Within each part a phase vocoder
//! with locked phases does the stretching, but the first moments after an onset pass
//! at their own speed, so a hit stays the hit it was. Parts hear nothing of each
//! other, so nothing of a hit sounds before it. A tone that goes on across an onset
//! keeps its phase; what begins there begins as recorded.
//!
//! Sources: J. Laroche and M. Dolson, "Improved Phase Vocoder Time-Scale Modification
//! of Audio", IEEE Trans. Speech and Audio Processing 7(3), 1999 (phase locking);
//! A. Röbel, "A New Approach to Transient Processing in the Phase Vocoder", DAFx 2003
//! (phases begin anew at an onset only where energy arrives).

mod balance;
mod error;
mod layer;
mod onsets;
mod parts;
mod plan;
mod same_grid;
mod sinc;
mod spectrum;
mod steepest;
mod time_map;
mod vocoder;

pub use error::StretchError;
pub use plan::{MOST_SEMITONES, StretchPlan};

use parts::Parts;
use time_map::TimeMap;

/// The change of tempo, as a part of one, beyond which quality is not promised.
pub fn warn_beyond() -> f64 {
    0.08
}

/// Lays a passage on the grid of `plan` and transposes it.
///
/// `input`: channels of equal length, 1.0 = full scale, finite samples; more than the
/// passage may be given and helps its edges. The output has as many channels, starts
/// at the output time of the first anchor and ends at that of the last. Played again
/// and again it has no seam: what sounds just before the first anchor is laid under
/// the last moments. Silence gives silence.
///
/// # Errors
/// [`StretchError`]: no or unequal channels, a rate of zero, or a plan that cannot be
/// followed.
///
/// # Examples
/// ```
/// use cupel_stretch::{StretchPlan, stretch};
///
/// let tone: Vec<f64> = (0..96_000)
///     .map(|n| (std::f64::consts::TAU * 220.0 * f64::from(n) / 48_000.0).sin())
///     .collect();
/// // Two bars of 120 BPM become two of 126 BPM.
/// let anchors = (0..=4)
///     .map(|beat| (f64::from(beat) * 60.0 / 120.0, f64::from(beat) * 60.0 / 126.0))
///     .collect();
/// let plan = StretchPlan { anchors, semitones: 0.0, onsets_s: Vec::new() };
/// let out = stretch(&[tone], 48_000, &plan)?;
/// assert_eq!(out[0].len(), (96_000.0_f64 * 120.0 / 126.0).round() as usize);
/// # Ok::<(), cupel_stretch::StretchError>(())
/// ```
pub fn stretch(
    input: &[Vec<f64>],
    sample_rate_hz: u32,
    plan: &StretchPlan,
) -> Result<Vec<Vec<f64>>, StretchError> {
    let passage = plan::Passage::cut(input, sample_rate_hz, plan)?;
    let rate_hz = f64::from(sample_rate_hz);
    if plan.semitones == 0.0
        && let Some(output) = same_grid::as_it_is(&passage, rate_hz)
    {
        return Ok(output);
    }
    let map = TimeMap::new(&passage.anchors);
    let found = onsets::find(&passage.channels, rate_hz);
    let all: Vec<f64> = passage
        .onsets
        .iter()
        .copied()
        .chain(found.all.iter().copied())
        .collect();
    let boundaries = |onsets: &[f64]| steepest::boundaries(&passage.channels, rate_hz, onsets);
    let parts = Parts::new(
        &map,
        &boundaries(&all),
        &boundaries(&found.low),
        &passage,
        rate_hz,
    );
    Ok(balance::render(&passage, &parts, rate_hz))
}
