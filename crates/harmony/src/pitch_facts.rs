//! How tonal a sound is, for those who ask what a track plays.

use serde::{Deserialize, Serialize};

use crate::harmony_frames::HarmonyFrames;
use crate::peaks::Peak;
use crate::tonal_peaks::lasting_share;

/// What the pitches of a track say of it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PitchFacts {
    /// Share of the sounding time in which tones last, 0 to 1.
    pub tonal_share: f64,
    /// Share of the file in which anything sounds, 0 to 1.
    pub sounding_share: f64,
    /// The note below which a tenth of the strongest tones lie, MIDI.
    pub lowest_midi: Option<f64>,
    /// The note above which a tenth of the strongest tones lie, MIDI.
    pub highest_midi: Option<f64>,
    /// Lasting tones at a time that are no octave, fifth or third over another,
    /// median.
    pub polyphony: f64,
}

/// How tonal a sound is: 0 for noise and clicks, 1 for lasting notes.
pub fn tonalness(frames: &HarmonyFrames) -> f64 {
    let share = lasting_share(&frames.long);
    ((share - 0.25) / 0.6).clamp(0.0, 1.0)
}

/// What the pitches of a track say of it.
pub fn pitch_facts(frames: &HarmonyFrames) -> PitchFacts {
    let long = &frames.long;
    let loudest = (0..long.frames())
        .flat_map(|frame| long.at(frame))
        .map(|peak| peak.level_db)
        .fold(-200.0, f32::max);
    let mut strongest = Vec::new();
    let mut counts = Vec::new();
    let mut sounding = 0;
    for frame in 0..long.frames() {
        let peaks: Vec<Peak> = long
            .at(frame)
            .filter(|peak| peak.level_db > loudest - 40.0)
            .collect();
        let Some(top) = peaks
            .iter()
            .max_by(|a, b| a.level_db.total_cmp(&b.level_db))
        else {
            continue;
        };
        sounding += 1;
        strongest.push(f64::from(top.midi));
        counts.push(roots(&peaks));
    }
    strongest.sort_by(f64::total_cmp);
    counts.sort_unstable();
    let at = |share: f64| -> Option<f64> {
        let index = (share * strongest.len() as f64) as usize;
        strongest.get(index).copied()
    };
    PitchFacts {
        tonal_share: tonalness(frames),
        sounding_share: f64::from(sounding) / long.frames().max(1) as f64,
        lowest_midi: at(0.1),
        highest_midi: at(0.9),
        polyphony: counts.get(counts.len() / 2).map_or(0.0, |&n| n as f64),
    }
}

/// Peaks that are no overtone of a lower one.
fn roots(peaks: &[Peak]) -> usize {
    const OVERTONES: [f32; 7] = [12.0, 19.02, 24.0, 27.86, 31.02, 33.69, 36.0];
    let top = peaks
        .iter()
        .map(|peak| peak.level_db)
        .fold(-200.0, f32::max);
    let strong = || {
        peaks
            .iter()
            .filter(|peak| peak.level_db > top - 20.0 && peak.height_db > 9.0)
    };
    strong()
        .filter(|peak| {
            !strong().any(|low| {
                let over = peak.midi - low.midi;
                OVERTONES
                    .iter()
                    .any(|overtone| (over - overtone).abs() < 0.4)
            })
        })
        .count()
}
