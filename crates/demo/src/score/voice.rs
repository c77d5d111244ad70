//! The sung line: phrases of syllables.

use super::{Event, Sheet};
use crate::form::SectionKind;
use crate::harmony::into_octave;
use crate::rng::Rng;
use crate::role::Role;

/// Vowels by `variant % VOWELS`; consonants by `variant / VOWELS`.
pub(crate) const VOWELS: usize = 5;
pub(crate) const CONSONANTS: usize = 4;

struct Syllable {
    step: usize,
    held: usize,
    degree: i32,
    variant: usize,
}

/// Two phrases of two bars that alternate, each followed by two bars of rest or
/// of its own echo in the second drop.
pub(crate) fn phrases(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let lines = [line(sheet, rng), line(sheet, rng)];
    let mut events = Vec::new();
    sheet.each_bar(Role::Voice, |section, bar| {
        let inside = bar - section.start_bar;
        // short sections sing every other bar, so that the voice is heard there
        let every = if section.bars < 8 { 2 } else { 4 };
        let full = section.kind == SectionKind::Drop && section.pass > 0;
        if inside % every >= 2 && !(full && inside % 8 >= 6) {
            return;
        }
        let chord = sheet.harmony.at(inside);
        let steps = sheet.grid.steps();
        for syllable in &lines[(inside / every) % 2] {
            if syllable.step / steps != inside % 2 {
                continue;
            }
            let mut note = sheet.harmony.degree(syllable.degree);
            if syllable.held > 3 {
                // long notes rest on the nearest chord tone
                note = nearest(&chord.notes, note);
            }
            events.push(Event {
                start_s: sheet.grid.place_s(bar, syllable.step % steps),
                length_s: syllable.held as f64 * sheet.grid.step_s(),
                note: into_octave(note, 55.0),
                velocity: (0.8 + 0.08 * rng.normal()).clamp(0.4, 1.0),
                variant: syllable.variant,
            });
        }
    });
    events
}

fn line(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Syllable> {
    let end = 2 * sheet.grid.steps();
    let mut step = rng.below(4);
    let mut degree = rng.below(5) as i32;
    let mut made = Vec::new();
    while step + 2 < end {
        let last = step + 8 >= end;
        let held = if last {
            end - step - 2
        } else {
            *rng.pick(&[2, 2, 3, 3, 4, 6])
        };
        made.push(Syllable {
            step,
            held,
            degree,
            variant: rng.below(VOWELS) + VOWELS * rng.below(CONSONANTS),
        });
        degree = (degree + *rng.pick(&[-2, -1, -1, 0, 1, 1, 2])).clamp(-2, 7);
        step += held + usize::from(rng.chance(0.25));
        if last {
            break;
        }
    }
    made
}

fn nearest(notes: &[f64], note: f64) -> f64 {
    notes
        .iter()
        .map(|&tone| into_octave(tone, note - 6.0))
        .min_by(|a, b| (a - note).abs().total_cmp(&(b - note).abs()))
        .unwrap_or(note)
}
