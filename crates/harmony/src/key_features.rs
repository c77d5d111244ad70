//! What a key is read from: pitch classes of the music and of the bass.

use crate::harmony_frames::HarmonyFrames;
use crate::tonal_peaks::{Tone, tones};
use crate::tuning::tuning;

/// Bass notes end here, D#3.
const BASS_MIDI: f32 = 51.5;
/// Music begins here, C#3.
const MUSIC_MIDI: f32 = 48.5;

/// Pitch classes of a piece, C first, each list scaled to a sum of 1.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct PitchClasses {
    pub(crate) music: [f64; 12],
    pub(crate) bass: [f64; 12],
    /// Of the bass at the start of the music.
    pub(crate) first: [f64; 12],
    pub(crate) tuning_cents: f64,
    /// How far the tones agree on the tuning.
    pub(crate) agreement: f64,
    /// Weight of all tones a second.
    pub(crate) content: f64,
}

impl PitchClasses {
    /// Pitch classes of several tracks together; `None` without tones.
    pub(crate) fn of(tracks: &[&HarmonyFrames]) -> Option<Self> {
        let all: Vec<Tone> = tracks.iter().flat_map(|track| tones(track)).collect();
        let (tuning_cents, agreement) = tuning(&all)?;
        let mut classes = Self {
            tuning_cents,
            agreement,
            ..Self::default()
        };
        let shift = (0.01 * tuning_cents) as f32;
        for tone in &all {
            let midi = tone.midi - shift;
            let off = f64::from(midi - midi.round());
            let near = (1.0 - (2.0 * off).powi(2)).max(0.0);
            let class = (midi.round() as i32).rem_euclid(12) as usize;
            let weight = f64::from(tone.weight) * near;
            if midi >= MUSIC_MIDI {
                classes.music[class] += weight;
            }
            if midi < BASS_MIDI {
                let weight = weight * f64::from(10f32.powf(0.025 * (tone.level_db + 40.0)));
                classes.bass[class] += weight;
            }
        }
        let seconds = tracks
            .iter()
            .map(|track| track.seconds())
            .fold(0.0, f64::max);
        classes.content = classes.music.iter().sum::<f64>() / seconds.max(1.0);
        classes.first = first_bass(&all, shift);
        for list in [&mut classes.music, &mut classes.bass, &mut classes.first] {
            let sum: f64 = list.iter().sum();
            if sum > 0.0 {
                list.iter_mut().for_each(|x| *x /= sum);
            }
        }
        Some(classes)
    }
}

/// The bass in the first two seconds in which one sounds.
fn first_bass(all: &[Tone], shift: f32) -> [f64; 12] {
    let loudest = all.iter().map(|tone| tone.level_db).fold(-200.0, f32::max);
    let low =
        |tone: &&Tone| tone.midi < BASS_MIDI && tone.weight > 0.2 && tone.level_db > loudest - 30.0;
    let start_s = all
        .iter()
        .filter(low)
        .map(|tone| tone.time_s)
        .fold(f64::MAX, f64::min);
    let mut classes = [0.0; 12];
    for tone in all.iter().filter(low) {
        if tone.time_s < start_s + 2.0 {
            let class = ((tone.midi - shift).round() as i32).rem_euclid(12) as usize;
            classes[class] += f64::from(tone.weight);
        }
    }
    classes
}
