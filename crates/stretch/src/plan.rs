//! What was asked for, checked and cut out of the input.

use crate::StretchError;
use crate::sinc;

/// The furthest a passage is transposed, up or down, in semitones.
pub const MOST_SEMITONES: f64 = 3.0;

/// The most that a length changes between two anchors, up or down.
const MOST_CHANGE: f64 = 2.0;

/// What is kept of the input before the first anchor and after the last, in seconds.
const MARGIN_S: f64 = 0.25;

/// An anchor this far past the end of the input still counts as the end, in seconds.
const PAST_END_S: f64 = 0.05;

/// Where a passage goes, and how it is transposed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StretchPlan {
    /// Pairs of a moment in the input and its moment in the output, in seconds, both
    /// rising; two or more, best one a beat.
    pub anchors: Vec<(f64, f64)>,
    /// Transposition, -3 to 3 semitones; fractions are allowed.
    pub semitones: f64,
    /// Onsets known in the input, in seconds, in any order; further ones are found.
    pub onsets_s: Vec<f64>,
}

/// A passage with a margin, already transposed by resampling; all times in frames.
pub(crate) struct Passage {
    /// The sound, `origin` frames before the first anchor and some after the last.
    pub channels: Vec<Vec<f64>>,
    /// Frame of the first anchor.
    pub origin: f64,
    /// Frames before the first anchor that the input really holds.
    pub before: f64,
    /// Anchors: place in `channels`, place in the output (from 0).
    pub anchors: Vec<(f64, f64)>,
    /// Onsets that the plan names, places in `channels`.
    pub onsets: Vec<f64>,
}

impl Passage {
    /// Checks the plan and cuts out what it needs.
    pub fn cut(
        input: &[Vec<f64>],
        sample_rate_hz: u32,
        plan: &StretchPlan,
    ) -> Result<Self, StretchError> {
        check_channels(input)?;
        check_plan(plan)?;
        if sample_rate_hz == 0 {
            return Err(StretchError::NoRate);
        }
        let rate_hz = f64::from(sample_rate_hz);
        let (first, last) = ends(&plan.anchors);
        let length_s = input.first().map_or(0.0, |channel| channel.len() as f64) / rate_hz;
        for input_s in [first.0, last.0] {
            if input_s < 0.0 || input_s > length_s + PAST_END_S {
                return Err(StretchError::OutsideInput { input_s, length_s });
            }
        }
        // Played `pitch` times as fast, then stretched back.
        let pitch = libm::exp2(plan.semitones / 12.0);
        let origin = (MARGIN_S * rate_hz).round();
        let frames = ((last.0 - first.0) * rate_hz / pitch).ceil() + 2.0 * origin;
        let start = first.0 * rate_hz - origin * pitch;
        let channels = input
            .iter()
            .map(|channel| sinc::resample(channel, start, pitch, frames as usize))
            .collect();
        let place = |input_s: f64| origin + (input_s - first.0) * rate_hz / pitch;
        Ok(Self {
            channels,
            origin,
            before: (first.0 * rate_hz / pitch).min(origin),
            anchors: plan
                .anchors
                .iter()
                .map(|&(input_s, output_s)| (place(input_s), (output_s - first.1) * rate_hz))
                .collect(),
            onsets: plan
                .onsets_s
                .iter()
                .map(|&onset_s| place(onset_s))
                .collect(),
        })
    }

    /// Frames of the output.
    pub fn output_frames(&self) -> usize {
        ends(&self.anchors).1.1.round().max(0.0) as usize
    }

    /// Where the last anchor lies in `channels`.
    pub fn end(&self) -> f64 {
        ends(&self.anchors).1.0
    }
}

/// The first pair and the last.
fn ends(anchors: &[(f64, f64)]) -> ((f64, f64), (f64, f64)) {
    let none = (0.0, 0.0);
    (
        *anchors.first().unwrap_or(&none),
        *anchors.last().unwrap_or(&none),
    )
}

fn check_channels(input: &[Vec<f64>]) -> Result<(), StretchError> {
    let expected = input.first().ok_or(StretchError::NoChannels)?.len();
    match input.iter().position(|channel| channel.len() != expected) {
        Some(channel) => Err(StretchError::UnequalChannels {
            channel,
            frames: input.get(channel).map_or(0, Vec::len),
            expected,
        }),
        None => Ok(()),
    }
}

fn check_plan(plan: &StretchPlan) -> Result<(), StretchError> {
    if plan.anchors.len() < 2 {
        return Err(StretchError::TooFewAnchors {
            given: plan.anchors.len(),
        });
    }
    let times = plan
        .anchors
        .iter()
        .flat_map(|&(input_s, output_s)| [input_s, output_s]);
    if !times
        .chain(plan.onsets_s.iter().copied())
        .chain([plan.semitones])
        .all(f64::is_finite)
    {
        return Err(StretchError::NotFinite);
    }
    if plan.semitones.abs() > MOST_SEMITONES {
        return Err(StretchError::TooManySemitones {
            given: plan.semitones,
            most: MOST_SEMITONES,
        });
    }
    for (index, (&before, &after)) in plan
        .anchors
        .iter()
        .zip(plan.anchors.iter().skip(1))
        .enumerate()
    {
        let (input_s, output_s) = (after.0 - before.0, after.1 - before.1);
        if input_s <= 0.0 || output_s <= 0.0 {
            return Err(StretchError::NotRising { index: index + 1 });
        }
        let given = output_s / input_s;
        if !(1.0 / MOST_CHANGE..=MOST_CHANGE).contains(&given) {
            return Err(StretchError::TooFar { index, given });
        }
    }
    Ok(())
}
