//! The judgement as a whole, in the order in which one thing rests on another.

use crate::bounce::judge_bounce;
use crate::feed::Placed;
use crate::gram::Gram;
use crate::remarks::{is_silent, remark};
use crate::session::Session;
use crate::thresholds::SAMPLE_RATES_HZ;
use crate::words;
use crate::{Trust, TrustError, TrustInput, Verdict};

/// Slots of half a second looked at where there is no bounce.
const SLOTS_ALONE: usize = 40;

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
    let mut trust = Trust::untested(remark(input));
    let audible: Vec<usize> = (0..input.tracks.len())
        .filter(|&track| !is_silent(&input.tracks[track]))
        .collect();
    match input.rough {
        Some(rough) => judge_bounce(input, rough, &audible, &mut trust, progress)?,
        None => judge_alone(input, &audible, &mut trust, progress)?,
    }
    progress(1.0);
    Ok(trust)
}

fn judge_alone(
    input: &TrustInput,
    audible: &[usize],
    trust: &mut Trust,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<(), TrustError> {
    let session = Session::new(input, audible, &[]);
    let slots = session.pick(0..session.slots(session.end()), SLOTS_ALONE);
    let mut feed = session.feed(None)?;
    let segments = session.segments(&slots, 1);
    let total = segments.len().max(1) as f64;
    let gram = Gram::measure(&mut feed, audible.len(), &segments, |done| {
        progress(0.9 * (done + 1) as f64 / total);
    })?;
    session.name_copies(&gram, &slots, trust)?;
    trust.notes.extend(session.starts_with_sound()?);
    words::untested(trust);
    Ok(())
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
            sentence: String::new(),
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
            wrong_starts: Vec::new(),
            near_identical: Vec::new(),
            notes,
            how_to_export: None,
        }
    }
}

/// A source that has not been moved.
pub(crate) fn unmoved(source: &dyn crate::Source) -> Placed<'_> {
    Placed {
        source,
        offset_frames: 0,
    }
}
