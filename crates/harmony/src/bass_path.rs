//! Which bass note sounds when, frame by frame.

use crate::harmony_frames::HarmonyFrames;

/// Lowest bass note, A0; the highest is G#3.
pub(crate) const LOWEST: usize = 21;
/// Notes that are told apart.
pub(crate) const NOTES: usize = 36;
/// Semitones and weight of the overtones in the salience of their note.
pub(crate) const OVERTONES: [(f32, f32); 5] = [
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

/// Salience of every note in every short frame, about 0 to 1.
pub(crate) fn saliences(frames: &HarmonyFrames, shift: f32) -> Vec<[f32; NOTES]> {
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
pub(crate) fn path(saliences: &[[f32; NOTES]]) -> Vec<Option<usize>> {
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
pub(crate) fn runs(path: &[Option<usize>]) -> Vec<(usize, usize, usize)> {
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
