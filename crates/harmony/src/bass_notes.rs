//! The bass line, note by note.

use serde::{Deserialize, Serialize};

use crate::bass_onsets::Lows;
use crate::bass_path::{LOWEST, NOTES, OVERTONES, path, runs, saliences};
use crate::harmony_frames::HarmonyFrames;
use crate::key::note_name;

/// One note of a bass line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// Where it starts.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
    /// MIDI note, C4 = 60, after the tuning of the piece.
    pub midi: i32,
    /// As `F#1`.
    pub name: String,
    /// Offset in cents from that note in the tuning of the piece.
    pub cents_off: f64,
    /// Level of its lows, dB against full scale.
    pub level_db: f64,
    /// How likely it is right, 0 to 1.
    pub sure: f64,
}

/// Shorter notes are none.
const SHORTEST_S: f64 = 0.04;
/// Quieter notes, against the loudest, are none.
const QUIETEST_DB: f32 = 26.0;
/// A change of pitch this near to a rise of level is the same start.
const SAME_START_S: f64 = 0.075;
/// The pitch is read from here on.
const SETTLED_S: f64 = 0.03;
/// Frames of a note that starts without a rise.
const LEGATO_FRAMES: usize = 4;
/// Pitch and highs of a kick: falls this far, rise this far.
const KICK_FALL: f32 = 0.35;
const KICK_CLICK_DB: f32 = 8.0;

/// Notes of a bass track, or of the low band of a mix; `tuning_cents` from
/// [`find_key`](crate::find_key), or 0.
///
/// Hits whose pitch falls and that click are kicks and left out.
pub fn bass_notes(frames: &HarmonyFrames, tuning_cents: f64) -> Vec<Note> {
    let lows = Lows::of(frames);
    let line = Line {
        frames,
        saliences: saliences(frames, (0.01 * tuning_cents) as f32),
        tuning_cents,
    };
    let mut starts = lows.onsets_s();
    starts.extend(line.legato_starts_s(&starts));
    starts.sort_by(f64::total_cmp);
    let ends = starts.iter().skip(1).copied().chain([frames.seconds]);
    let segments = starts.iter().copied().zip(ends);
    segments
        .filter_map(|(start_s, next_s)| {
            let (end_s, peak_db) = lows.end(start_s, next_s);
            if end_s - start_s < SHORTEST_S || lows.below_top_db(peak_db) > QUIETEST_DB {
                return None;
            }
            let clicks = lows.click_rise_db(start_s) > KICK_CLICK_DB;
            if clicks && line.falls(start_s, end_s) > KICK_FALL {
                return None;
            }
            line.note(start_s, end_s)
        })
        .collect()
}

struct Line<'a> {
    frames: &'a HarmonyFrames,
    saliences: Vec<[f32; NOTES]>,
    tuning_cents: f64,
}

impl Line<'_> {
    fn frame(&self, time_s: f64) -> usize {
        let short = &self.frames.short;
        let frame = ((time_s - short.first_s) / short.hop_s).round().max(0.0);
        (frame as usize).min(self.saliences.len())
    }

    /// Changes of pitch without a rise of level.
    fn legato_starts_s(&self, rises_s: &[f64]) -> Vec<f64> {
        let path = path(&self.saliences);
        let long: Vec<_> = runs(&path)
            .into_iter()
            .filter(|(from, to, _)| to - from >= LEGATO_FRAMES)
            .collect();
        let changes = long.windows(2).filter(|pair| {
            let (_, end, before) = pair[0];
            let (start, _, after) = pair[1];
            before != after && start <= end + 2
        });
        changes
            .map(|pair| self.frames.short.time_s(pair[1].0) - 0.5 * self.frames.short.hop_s)
            .filter(|time_s| {
                let near = |rise: &f64| (rise - time_s).abs() < SAME_START_S;
                !rises_s.iter().any(near)
            })
            .collect()
    }

    /// Semitones by which the strongest low peak falls after the start.
    fn falls(&self, start_s: f64, end_s: f64) -> f32 {
        let pitch = |time_s: f64| {
            let peaks = self.frames.short.at(self.frame(time_s));
            let low = peaks.filter(|peak| peak.midi < 60.0);
            low.max_by(|a, b| a.level_db.total_cmp(&b.level_db))
                .map(|peak| peak.midi)
        };
        let early = pitch(start_s + 0.01);
        let late = pitch((start_s + 0.1).min(0.5 * (start_s + end_s) + 0.03));
        match (early, late) {
            // an overtone first and its note then is no fall
            (Some(early), Some(late))
                if [12.0, 19.02, 24.0]
                    .iter()
                    .all(|over| (early - late - over).abs() > 0.4) =>
            {
                early - late
            }
            _ => 0.0,
        }
    }

    fn note(&self, start_s: f64, end_s: f64) -> Option<Note> {
        let from = self.frame(start_s + SETTLED_S);
        let to = self.frame(end_s - SETTLED_S).max(from) + 1;
        let mut sums = [0.0f32; NOTES];
        for notes in self.saliences.get(from..to.min(self.saliences.len()))? {
            sums.iter_mut().zip(notes).for_each(|(sum, x)| *sum += x);
        }
        let best = (0..NOTES).max_by(|&a, &b| sums[a].total_cmp(&sums[b]))?;
        if sums[best] <= 0.0 {
            return None;
        }
        let second = (0..NOTES)
            .filter(|&n| {
                n.abs_diff(best) > 1 || n.abs_diff(best) == 1 && sums[n] > sums[best] * 0.9
            })
            .map(|n| if n == best { 0.0 } else { sums[n] })
            .fold(0.0, f32::max);
        let midi = (LOWEST + best) as i32;
        let (cents_off, level_db) = self.fine(midi, from, to)?;
        let clear = f64::from(1.0 - second / sums[best]);
        let in_tune = 1.0 - (cents_off.abs() / 50.0).min(1.0).powi(2);
        Some(Note {
            start_s: start_s.max(0.0),
            end_s,
            midi,
            name: note_name(midi),
            cents_off,
            level_db,
            sure: (0.55 + 0.45 * (clear / 0.35).min(1.0)) * (0.5 + 0.5 * in_tune),
        })
    }

    /// Cents off the note by all its overtones, and the level of its fundamental.
    fn fine(&self, midi: i32, from: usize, to: usize) -> Option<(f64, f64)> {
        let (mut cents, mut weights, mut level_db) = (0.0, 0.0, -120.0f64);
        for peak in (from..to).flat_map(|frame| self.frames.short.at(frame)) {
            for (over, _) in OVERTONES {
                let off = f64::from(peak.midi - over) - 0.01 * self.tuning_cents - f64::from(midi);
                if off.abs() < 0.6 {
                    let amplitude = 10f64.powf(0.05 * f64::from(peak.level_db));
                    let weight = amplitude * (1.0 + f64::from(over));
                    cents += weight * 100.0 * off;
                    weights += weight;
                    if over == 0.0 {
                        level_db = level_db.max(peak.level_db.into());
                    }
                }
            }
        }
        (weights > 0.0).then(|| (cents / weights, level_db))
    }
}
