//! What a key is read from: pitch classes by register, and triads.

use crate::harmony_frames::HarmonyFrames;
use crate::key_windows::Windows;
use crate::tonal_peaks::{Tone, tones};
use crate::tuning::tuning;

/// Lists of twelve pitch classes.
pub(crate) const BLOCKS: usize = 9;
/// Names of the blocks, as in the script that fits their weights.
pub(crate) const NAMES: [&str; BLOCKS] = [
    "sq", "mus", "mid", "high", "low", "bass", "bl", "chM", "chm",
];

/// Where registers begin, MIDI: kicks and subs, basses, chords, leads.
const REGISTERS: [f32; 5] = [20.0, 36.5, 51.5, 66.5, 110.0];

/// Pitch classes of a piece, C first; each block is scaled to a sum of 1,
/// triads over both kinds together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct KeyFeatures {
    pub(crate) blocks: [[f64; 12]; BLOCKS],
    pub(crate) tuning_cents: f64,
    /// Weight of all tones above the bass in a second.
    pub(crate) content: f64,
}

impl KeyFeatures {
    /// Features of several tracks together; `None` without tones.
    pub(crate) fn of(tracks: &[&HarmonyFrames]) -> Option<Self> {
        let all: Vec<Tone> = tracks.iter().flat_map(|track| tones(track)).collect();
        let (tuning_cents, _) = tuning(&all)?;
        let mut registers = [[0.0; 12]; 4];
        let hop_s = tracks.first().map_or(0.2, |track| track.long.hop_s);
        let first_s = tracks.first().map_or(0.0, |track| track.long.first_s);
        let frames = tracks.iter().map(|track| track.long.frames()).max();
        let frames = frames.unwrap_or(0);
        let mut windows = Windows::new(first_s, hop_s, frames);
        for tone in &all {
            let midi = tone.midi - (0.01 * tuning_cents) as f32;
            let off = f64::from(midi - midi.round());
            let weight = f64::from(tone.weight) * (1.0 - 4.0 * off * off).max(0.0);
            let class = (midi.round() as i32).rem_euclid(12) as usize;
            let low = weight * f64::from(10f32.powf(0.025 * (tone.level_db + 40.0)));
            if let Some(n) = (0..4).find(|&n| midi >= REGISTERS[n] && midi < REGISTERS[n + 1]) {
                registers[n][class] += if n < 2 { low } else { weight };
            }
            windows.add(tone.time_s, midi, class, weight, low);
        }
        let [sub, bass, mid, high] = registers;
        let music: [f64; 12] = std::array::from_fn(|n| mid[n] + high[n]);
        let content = music.iter().sum::<f64>() / (frames as f64 * hop_s).max(1e-9);
        let music = shares(music);
        let roots = shares(music.map(f64::sqrt));
        let harmony = windows.harmony();
        Some(Self {
            blocks: [
                roots,
                music,
                shares(mid),
                shares(high),
                shares(sub),
                shares(bass),
                shares(harmony.bass),
                harmony.triads[0],
                harmony.triads[1],
            ],
            tuning_cents,
            content,
        })
    }
}

/// Scaled to a sum of 1.
fn shares(list: [f64; 12]) -> [f64; 12] {
    let sum = list.iter().sum::<f64>().max(1e-9);
    list.map(|x| x / sum)
}
