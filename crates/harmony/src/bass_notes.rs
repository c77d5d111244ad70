//! The bass line, note by note.

use serde::{Deserialize, Serialize};

use crate::harmony_frames::HarmonyFrames;
use crate::key::note_name;
use crate::low_frames::powers;

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

/// Lowest and highest bass note: A0 to G#3.
const LOWEST: usize = 21;
const HIGHEST: usize = 56;
const NOTES: usize = HIGHEST - LOWEST + 1;
/// Weight of an overtone in the salience of its note, by number.
const OVERTONES: [(f32, f32); 5] = [
    (0.0, 1.0),
    (12.0, 0.62),
    (19.02, 0.45),
    (24.0, 0.35),
    (27.86, 0.28),
];
/// Cost of leaving a note for another.
const CHANGE: f32 = 0.9;
/// Salience of silence, against the loudest frames.
const SILENCE: f32 = 0.22;
/// Shorter notes are none.
const SHORTEST_S: f64 = 0.045;

/// Notes of a bass track, or of the low band of a mix; `tuning_cents` from
/// [`find_key`](crate::find_key), or 0.
pub fn bass_notes(frames: &HarmonyFrames, tuning_cents: f64) -> Vec<Note> {
    let saliences = saliences(frames, (0.01 * tuning_cents) as f32);
    let path = path(&saliences);
    let low = Envelope::of(frames);
    let mut notes = Vec::new();
    for (from, to, note) in runs(&path) {
        let starts = low.splits(frames.short.time_s(from), frames.short.time_s(to));
        for (start_s, end_s) in starts {
            notes.extend(note_of(frames, note, (start_s, end_s), tuning_cents));
        }
    }
    notes
}

/// Salience of every note in every short frame, about 0 to 1.
fn saliences(frames: &HarmonyFrames, shift: f32) -> Vec<[f32; NOTES]> {
    let short = &frames.short;
    let mut all: Vec<[f32; NOTES]> = (0..short.frames())
        .map(|frame| {
            let mut notes = [0.0; NOTES];
            for peak in short.at(frame) {
                let root = 10f32.powf(0.025 * peak.level_db);
                for (over, weight) in OVERTONES {
                    let midi = peak.midi - shift - over;
                    let note = midi.round();
                    let index = note as i32 - LOWEST as i32;
                    if let Some(sum) = usize::try_from(index).ok().and_then(|n| notes.get_mut(n)) {
                        let off = midi - note;
                        *sum += weight * root * (1.0 - 1.4 * off * off);
                    }
                }
            }
            notes
        })
        .collect();
    let mut tops: Vec<f32> = all.iter().map(highest).collect();
    tops.sort_by(f32::total_cmp);
    let loud = tops
        .get(tops.len() * 9 / 10)
        .copied()
        .unwrap_or(0.0)
        .max(1e-4);
    all.iter_mut().flatten().for_each(|x| *x /= loud);
    all
}

fn highest(notes: &[f32; NOTES]) -> f32 {
    notes.iter().copied().fold(0.0, f32::max)
}

/// The likeliest note of every frame (Viterbi), `None` for silence.
fn path(saliences: &[[f32; NOTES]]) -> Vec<Option<usize>> {
    const STATES: usize = NOTES + 1;
    let mut sums = [0.0f32; STATES];
    let mut back: Vec<[u8; STATES]> = Vec::with_capacity(saliences.len());
    for notes in saliences {
        let best = (0..STATES)
            .max_by(|&a, &b| sums[a].total_cmp(&sums[b]))
            .unwrap_or(0);
        let jump = sums[best] - CHANGE;
        let mut from = [0u8; STATES];
        for state in 0..STATES {
            let gain = if state == NOTES {
                SILENCE
            } else {
                notes[state]
            };
            from[state] = if sums[state] >= jump { state } else { best } as u8;
            sums[state] = sums[state].max(jump) + gain;
        }
        back.push(from);
        let top = sums[best];
        sums.iter_mut().for_each(|sum| *sum -= top);
    }
    let mut state = (0..STATES)
        .max_by(|&a, &b| sums[a].total_cmp(&sums[b]))
        .unwrap_or(NOTES);
    let mut path = vec![None; saliences.len()];
    for frame in (0..saliences.len()).rev() {
        path[frame] = (state < NOTES).then_some(state);
        state = usize::from(back[frame][state]);
    }
    path
}

/// Stretches of one note: first frame, frame after the last, note.
fn runs(path: &[Option<usize>]) -> Vec<(usize, usize, usize)> {
    let mut runs: Vec<(usize, usize, usize)> = Vec::new();
    for (frame, note) in path.iter().enumerate() {
        let Some(note) = *note else { continue };
        match runs.last_mut() {
            Some((_, to, same)) if *to == frame && *same == note => *to = frame + 1,
            _ => runs.push((frame, frame + 1, note)),
        }
    }
    runs
}

/// Level of the lows, smoothed.
struct Envelope {
    hop_s: f64,
    first_s: f64,
    db: Vec<f64>,
}

impl Envelope {
    fn of(frames: &HarmonyFrames) -> Self {
        let body = powers(&frames.low.body);
        let reach = 2;
        let db = (0..body.len())
            .map(|n| {
                let from = n.saturating_sub(reach);
                let to = (n + reach + 1).min(body.len());
                let mean = body[from..to].iter().sum::<f32>() / (to - from) as f32;
                10.0 * f64::from(mean + 1e-11).log10()
            })
            .collect();
        Self {
            hop_s: frames.low.hop_s,
            first_s: frames.low.first_s,
            db,
        }
    }

    fn index(&self, time_s: f64) -> usize {
        ((time_s - self.first_s) / self.hop_s).round().max(0.0) as usize
    }

    /// Cuts a stretch of one note where the level drops and comes back.
    fn splits(&self, from_s: f64, to_s: f64) -> Vec<(f64, f64)> {
        let from = self.index(from_s - 0.06).min(self.db.len());
        let to = self.index(to_s + 0.05).min(self.db.len());
        let slice = &self.db[from..to];
        let top = slice.iter().copied().fold(f64::MIN, f64::max);
        let mut notes = Vec::new();
        let mut start: Option<usize> = None;
        let (mut high, mut low) = (f64::MIN, f64::MAX);
        for (n, &db) in slice.iter().enumerate() {
            match start {
                None if db > top - 20.0 => {
                    start = Some(n);
                    (high, low) = (db, db);
                }
                None => {}
                Some(begun) => {
                    high = high.max(db);
                    if db < low || db > low + 6.0 && high - low < 6.0 {
                        low = db;
                    }
                    if db < top - 30.0 {
                        notes.push((begun, n));
                        start = None;
                    } else if high - low >= 6.0 && db > low + 6.0 {
                        notes.push((begun, n));
                        start = Some(n);
                        (high, low) = (db, db);
                    }
                }
            }
        }
        if let Some(begun) = start {
            notes.push((begun, slice.len()));
        }
        let time_s = |n: usize| self.first_s + self.hop_s * (from + n) as f64;
        notes
            .into_iter()
            .map(|(a, b)| (time_s(a), time_s(b)))
            .collect()
    }
}

fn note_of(
    frames: &HarmonyFrames,
    note: usize,
    (start_s, end_s): (f64, f64),
    tuning_cents: f64,
) -> Option<Note> {
    if end_s - start_s < SHORTEST_S {
        return None;
    }
    let midi = (LOWEST + note) as i32;
    let short = &frames.short;
    let frame = |time_s: f64| ((time_s - short.first_s) / short.hop_s).round().max(0.0) as usize;
    let (mut cents, mut weights, mut level_db) = (0.0, 0.0, -120.0f64);
    for frame in frame(start_s)..=frame(end_s) {
        for peak in short.at(frame) {
            for (over, _) in OVERTONES {
                let off = f64::from(peak.midi - over) - 0.01 * tuning_cents - f64::from(midi);
                if off.abs() < 0.6 {
                    let weight =
                        10f64.powf(0.05 * f64::from(peak.level_db)) * (1.0 + f64::from(over));
                    cents += weight * 100.0 * off;
                    weights += weight;
                    if over == 0.0 {
                        level_db = level_db.max(peak.level_db.into());
                    }
                }
            }
        }
    }
    (weights > 0.0).then(|| Note {
        start_s: start_s.max(0.0),
        end_s,
        midi,
        name: note_name(midi),
        cents_off: cents / weights,
        level_db,
        sure: 0.8,
    })
}
