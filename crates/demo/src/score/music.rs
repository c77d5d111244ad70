//! Pitched parts.

use super::{Event, Sheet};
use crate::form::SectionKind;
use crate::harmony::into_octave;
use crate::rng::Rng;
use crate::role::Role;
use crate::style::LeadKind;

fn touch(velocity: f64, rng: &mut Rng) -> f64 {
    (velocity * (1.0 + 0.06 * rng.normal())).clamp(0.05, 1.0)
}

/// The step of the next hit, or the bar's end.
fn next_step(pattern: &str, step: usize, steps: usize) -> usize {
    let bytes = pattern.as_bytes();
    (step + 1..steps)
        .find(|&later| bytes[later].is_ascii_digit())
        .unwrap_or(steps)
}

/// Roots: with the bass, or one long note a bar.
pub(crate) fn sub(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let patterns = bass_patterns(sheet);
    let mut events = Vec::new();
    sheet.each_bar(Role::Sub, |section, bar| {
        let root = sheet.harmony.at(bar - section.start_bar).root;
        let long = sheet.style.long_sub || section.kind == SectionKind::Break;
        let steps = sheet.grid.steps();
        if long {
            events.push(Event {
                start_s: sheet.grid.place_s(bar, 0),
                length_s: sheet.grid.bar_s() * 0.97,
                note: root,
                velocity: touch(0.85, rng),
                variant: 0,
            });
            return;
        }
        let pattern = patterns[bar % 2];
        for (step, velocity) in sheet.hits(pattern) {
            let held = (next_step(pattern, step, steps) - step).min(4);
            events.push(Event {
                start_s: sheet.grid.place_s(bar, step),
                length_s: 0.92 * held as f64 * sheet.grid.step_s(),
                note: root,
                velocity: touch(velocity, rng),
                variant: 0,
            });
        }
    });
    events
}

/// Sub and bass share one pattern: it hangs on the harmony alone.
fn bass_patterns<'a>(sheet: &Sheet<'a>) -> [&'a str; 2] {
    if let Some(drawn) = sheet.drawn {
        let [first, second] = &drawn.bass;
        return [first.as_str(), second.as_str()];
    }
    let sum: i32 = sheet.harmony.chords.iter().map(|chord| chord.degree).sum();
    let index = sum as usize + usize::from(sheet.harmony.key.tonic);
    [sheet.style.bass[index % sheet.style.bass.len()]; 2]
}

/// Answers the kick; mostly roots, with octave, fifth and seventh on the way.
pub(crate) fn bass(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let patterns = bass_patterns(sheet);
    // one motif of steps up, repeated every two bars
    let motif: Vec<f64> = (0..32)
        .map(|_| *rng.pick(&[0.0, 0.0, 0.0, 0.0, 12.0, 7.0, -2.0]))
        .collect();
    let mut events = Vec::new();
    sheet.each_bar(Role::Bass, |section, bar| {
        let root = sheet.harmony.at(bar - section.start_bar).root + 12.0;
        let steps = sheet.grid.steps();
        let pattern = patterns[bar % 2];
        for (step, velocity) in sheet.hits(pattern) {
            let held = (next_step(pattern, step, steps) - step).min(3);
            let up = if step < 4 {
                0.0
            } else {
                motif[step + 16 * (bar % 2)]
            };
            events.push(Event {
                start_s: sheet.grid.place_s(bar, step),
                length_s: rng.between(0.6, 0.9) * held as f64 * sheet.grid.step_s(),
                note: root + up,
                velocity: touch(velocity, rng),
                variant: 0,
            });
        }
    });
    events
}

pub(crate) fn chords(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let bars = sheet.bars(sheet.style.chords, |drawn| &drawn.chords, rng);
    let mut events = Vec::new();
    sheet.each_bar(Role::Chords, |section, bar| {
        let chord = sheet.harmony.at(bar - section.start_bar);
        for (step, velocity) in sheet.hits(bars[bar % 2]) {
            let velocity = touch(velocity, rng);
            for &note in &chord.notes {
                events.push(Event {
                    start_s: sheet.grid.place_s(bar, step),
                    length_s: 1.6 * sheet.grid.step_s(),
                    note,
                    velocity,
                    variant: 0,
                });
            }
        }
    });
    events
}

/// Held chords; the warm pad lies around middle C, the air pad an octave above.
pub(crate) fn pad(role: Role, sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let mut events = Vec::new();
    let per_chord = sheet.harmony.bars_per_chord;
    sheet.each_bar(role, |section, bar| {
        let inside = bar - section.start_bar;
        let first = inside % per_chord == 0 || !sheet.layers.plays(role, bar.wrapping_sub(1));
        if !first {
            return;
        }
        let bars = per_chord - inside % per_chord;
        let chord = sheet.harmony.at(inside);
        let velocity = touch(0.8, rng);
        let mut add = |note: f64, velocity: f64| {
            events.push(Event {
                start_s: sheet.grid.bar_start_s(bar),
                length_s: bars as f64 * sheet.grid.bar_s(),
                note,
                velocity,
                variant: 0,
            });
        };
        if role == Role::PadWarm {
            add(into_octave(chord.root, 40.0), 0.75 * velocity);
            chord.notes.iter().for_each(|&note| add(note, velocity));
        } else {
            for &note in &chord.notes[chord.notes.len() - 3..] {
                add(note + 12.0, velocity);
            }
        }
    });
    events
}

/// Broken chords in the left hand, a sparse line in the right.
pub(crate) fn piano(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let rhythm = *rng.pick(&["8.....7.....6...", "8..7..8...7..7..", "8.......7.....6."]);
    let line: Vec<(usize, i32)> = (0..4)
        .map(|_| (2 * rng.below(8), rng.below(6) as i32))
        .collect();
    let mut events = Vec::new();
    sheet.each_bar(Role::Piano, |section, bar| {
        let chord = sheet.harmony.at(bar - section.start_bar);
        let mut add = |step: usize, note: f64, length: f64, velocity: f64, rng: &mut Rng| {
            let roll_s = 0.004 + 0.004 * rng.normal();
            events.push(Event {
                start_s: sheet.grid.place_s(bar, step) + roll_s.clamp(0.0, 0.02),
                length_s: length * sheet.grid.step_s(),
                note,
                velocity: touch(velocity, rng),
                variant: 0,
            });
        };
        add(0, into_octave(chord.root, 40.0), 14.0, 0.6, rng);
        for (step, velocity) in sheet.hits(rhythm) {
            for &note in &chord.notes {
                add(step, note, 5.0, 0.75 * velocity, rng);
            }
        }
        for &(step, degree) in &line {
            if step < sheet.grid.steps() && rng.chance(0.3 + 0.5 * sheet.density) {
                let note = sheet.harmony.degree(chord.degree % 3 + degree + 4);
                add(step, into_octave(note, 70.0), 4.0, 0.7, rng);
            }
        }
    });
    events
}

pub(crate) fn lead(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    match sheet.style.lead {
        LeadKind::Arpeggio => arpeggio(sheet, rng),
        LeadKind::Pluck => motif(
            sheet,
            &["..8..7..8.7..8..", "8..7..7...8..7..", "..8...8.7..8...7"],
            1.4,
            rng,
        ),
        LeadKind::Line => motif(
            sheet,
            &["8.....7...8.....", "..8...8.....7...", "8...7.....8..7.."],
            3.2,
            rng,
        ),
    }
}

fn arpeggio(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let shapes: [[usize; 8]; 4] = [
        [0, 1, 2, 3, 4, 3, 2, 1],
        [0, 2, 1, 3, 2, 4, 3, 5],
        [5, 4, 3, 2, 1, 0, 1, 2],
        [0, 3, 1, 4, 2, 5, 1, 3],
    ];
    let shape = *rng.pick(&shapes);
    let rests: Vec<bool> = (0..16)
        .map(|_| rng.chance(0.35 - 0.3 * sheet.density))
        .collect();
    let mut events = Vec::new();
    sheet.each_bar(Role::Lead, |section, bar| {
        let chord = sheet.harmony.at(bar - section.start_bar);
        for step in 0..sheet.grid.steps() {
            if rests[step % 16] {
                continue;
            }
            let index = shape[step % 8];
            let count = chord.notes.len();
            let note = chord.notes[index % count] + 12.0 * (1 + index / count) as f64;
            let accent = if step % 4 == 0 { 0.9 } else { 0.65 };
            events.push(Event {
                start_s: sheet.grid.place_s(bar, step),
                length_s: 0.8 * sheet.grid.step_s(),
                note,
                velocity: touch(accent, rng),
                variant: 0,
            });
        }
    });
    events
}

/// A motif of two bars on scale degrees, moved with the chords.
fn motif(sheet: &Sheet<'_>, rhythms: &[&str], held_steps: f64, rng: &mut Rng) -> Vec<Event> {
    let bars = [*rng.pick(rhythms), *rng.pick(rhythms)];
    let mut degree = 4 + rng.below(3) as i32;
    let walk: Vec<i32> = (0..32)
        .map(|_| {
            degree = (degree + *rng.pick(&[-2, -1, -1, 0, 1, 1, 2])).clamp(2, 11);
            degree
        })
        .collect();
    let mut events = Vec::new();
    sheet.each_bar(Role::Lead, |section, bar| {
        let chord = sheet.harmony.at(bar - section.start_bar);
        for (step, velocity) in sheet.hits(bars[bar % 2]) {
            let degree = walk[step + 16 * (bar % 2)];
            // even steps rest on chord tones, the others on the scale
            let note = if step % 4 == 0 {
                let tone = chord.notes[degree as usize % chord.notes.len()];
                into_octave(tone, sheet.harmony.degree(degree) - 6.0)
            } else {
                sheet.harmony.degree(degree)
            };
            events.push(Event {
                start_s: sheet.grid.place_s(bar, step),
                length_s: held_steps * sheet.grid.step_s() * rng.between(0.8, 1.1),
                note: into_octave(note, 67.0),
                velocity: touch(velocity, rng),
                variant: 0,
            });
        }
    });
    events
}
