//! Which peaks are tones: those that last.

use crate::harmony_frames::{HarmonyFrames, PeakFrames};
use crate::peaks::Peak;

/// A tone in a long frame.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tone {
    pub(crate) time_s: f64,
    pub(crate) midi: f32,
    pub(crate) level_db: f32,
    /// How much it counts, 0 to 1: how far it stands out and whether it lasts.
    pub(crate) weight: f32,
}

/// Pitches nearer than this, in semitones, are one tone going on.
const SAME_SEMITONES: f32 = 0.3;
/// Levels further apart are not one tone going on.
const SAME_DB: f32 = 14.0;
/// Height in dB at which a peak counts fully.
const FULL_HEIGHT_DB: f32 = 24.0;
/// Share left to a peak that does not last.
const LONE: f32 = 0.08;

/// All tones of the long frames, in order of time.
pub(crate) fn tones(frames: &HarmonyFrames) -> Vec<Tone> {
    let long = &frames.long;
    let mut before: Vec<Peak> = Vec::new();
    let mut now: Vec<Peak> = long.at(0).collect();
    let mut all = Vec::new();
    for frame in 0..long.frames() {
        let after: Vec<Peak> = long.at(frame + 1).collect();
        for peak in &now {
            let lasts = goes_on(peak, &before) || goes_on(peak, &after);
            let height = ((peak.height_db - 4.0) / (FULL_HEIGHT_DB - 4.0)).clamp(0.0, 1.0);
            all.push(Tone {
                time_s: long.time_s(frame),
                midi: peak.midi,
                level_db: peak.level_db,
                weight: height * if lasts { 1.0 } else { LONE },
            });
        }
        (before, now) = (now, after);
    }
    all
}

fn goes_on(peak: &Peak, others: &[Peak]) -> bool {
    others.iter().any(|other| {
        (other.midi - peak.midi).abs() < SAME_SEMITONES
            && (other.level_db - peak.level_db).abs() < SAME_DB
    })
}

/// Share of the frames whose highest peaks last, of the frames that sound.
pub(crate) fn lasting_share(long: &PeakFrames) -> f64 {
    let (mut lasting, mut all) = (0.0, 0.0);
    let mut before: Vec<Peak> = Vec::new();
    for frame in 0..long.frames() {
        let now: Vec<Peak> = long.at(frame).collect();
        for peak in now.iter().take(6) {
            let weight = f64::from(peak.height_db);
            all += weight;
            if goes_on(peak, &before) {
                lasting += weight;
            }
        }
        before = now;
    }
    if all > 0.0 { lasting / all } else { 0.0 }
}
