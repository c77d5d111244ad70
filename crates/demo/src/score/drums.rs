//! Drums and effects.

use super::{Event, Sheet};
use crate::form::SectionKind;
use crate::rng::Rng;
use crate::role::Role;

/// Number of renderings of one drum that alternate.
pub(crate) const VARIANTS: usize = 6;

/// Effects by [`Event::variant`].
pub(crate) const RISER: usize = 0;
pub(crate) const IMPACT: usize = 1;
pub(crate) const SWEEP: usize = 2;

fn hit(start_s: f64, velocity: f64, rng: &mut Rng) -> Event {
    let touch = 1.0 + 0.05 * rng.normal();
    Event {
        start_s,
        length_s: 0.0,
        note: 0.0,
        velocity: (velocity * touch).clamp(0.05, 1.0),
        variant: rng.below(VARIANTS),
    }
}

/// A hand's or a humanised grid's looseness; never before `start_s - 3 ms`.
fn loose(start_s: f64, spread_s: f64, rng: &mut Rng) -> f64 {
    (start_s + spread_s * rng.normal())
        .max(start_s - 0.003)
        .max(0.0)
}

/// On the grid; silent in the last half bar before a drop.
pub(crate) fn kick(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let none = [String::new(), String::new()];
    let own = sheet
        .drawn
        .map(|drawn| drawn.kick.as_ref().unwrap_or(&none));
    let of_style = *rng.pick(sheet.style.kick);
    let bars = own.map_or([of_style; 2], |[a, b]| [a.as_str(), b.as_str()]);
    let mut events = Vec::new();
    sheet.each_bar(Role::Kick, |section, bar| {
        let before_drop = section.kind == SectionKind::Build && bar + 1 == section.end_bar();
        for (step, velocity) in sheet.hits(bars[bar % 2]) {
            if before_drop && step >= sheet.grid.steps() / 2 {
                continue;
            }
            let touch = 1.0 + 0.012 * rng.normal();
            events.push(Event {
                velocity: (velocity * touch).min(1.0),
                ..hit(sheet.grid.place_s(bar, step), velocity, rng)
            });
        }
    });
    events
}

/// Clap or snare on two and four, with ghosts and a roll before a drop.
pub(crate) fn backbeat(role: Role, sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let mut events = Vec::new();
    let beats = match sheet.drawn {
        Some(drawn) => drawn.backbeat.clone(),
        None => (1..sheet.grid.beats_per_bar).step_by(2).collect(),
    };
    let ghosts = if role == Role::Snare { 0.5 } else { 0.12 };
    sheet.each_bar(role, |section, bar| {
        let quiet = section.kind == SectionKind::Build && section.pass > 0;
        for &beat in &beats {
            if !quiet {
                let at = loose(sheet.grid.place_s(bar, 4 * beat), 0.0015, rng);
                events.push(hit(at, 0.95, rng));
            }
        }
        if section.kind == SectionKind::Build && bar + 2 >= section.end_bar() {
            roll(sheet, bar, bar + 1 == section.end_bar(), &mut events, rng);
        } else if sheet.ends_phrase(section, bar) && rng.chance(0.8) {
            let step = sheet.grid.steps() - 1 - rng.below(3);
            events.push(hit(sheet.grid.place_s(bar, step), 0.55, rng));
        } else if rng.chance(ghosts * sheet.density) {
            let step = *rng.pick(&[7, 9, 11]);
            events.push(hit(sheet.grid.place_s(bar, step), 0.3, rng));
        }
    });
    events
}

/// Eighths, then sixteenths, swelling.
fn roll(sheet: &Sheet<'_>, bar: usize, last: bool, events: &mut Vec<Event>, rng: &mut Rng) {
    let every = if last { 1 } else { 2 };
    for step in (0..sheet.grid.steps()).step_by(every) {
        let through = step as f64 / sheet.grid.steps() as f64;
        let velocity = if last {
            0.4 + 0.35 * through
        } else {
            0.2 + 0.2 * through
        };
        events.push(hit(sheet.grid.place_s(bar, step), velocity, rng));
    }
}

pub(crate) fn closed_hat(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let bars = sheet.bars(sheet.style.closed_hat, |drawn| &drawn.closed_hat, rng);
    let keep = 0.55 + 0.45 * sheet.density;
    let mut events = Vec::new();
    sheet.each_bar(Role::ClosedHat, |_, bar| {
        for (step, velocity) in sheet.hits(bars[bar % 2]) {
            // weak sixteenths thin out first
            if step % 2 == 1 && !rng.chance(keep) {
                continue;
            }
            let at = loose(sheet.grid.place_s(bar, step), 0.001, rng);
            events.push(hit(at, velocity, rng));
        }
    });
    events
}

pub(crate) fn open_hat(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let bars = sheet.bars(sheet.style.open_hat, |drawn| &drawn.open_hat, rng);
    let mut events = Vec::new();
    sheet.each_bar(Role::OpenHat, |_, bar| {
        for (step, velocity) in sheet.hits(bars[bar % 2]) {
            let at = loose(sheet.grid.place_s(bar, step), 0.001, rng);
            events.push(Event {
                length_s: 1.7 * sheet.grid.step_s(),
                ..hit(at, velocity, rng)
            });
        }
    });
    events
}

/// Running sixteenths; the pair accents in turn, so that it rocks about the
/// middle.
pub(crate) fn shaker(role: Role, sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let accent = if role == Role::ShakerLeft { 0 } else { 2 };
    let keep = 0.5 + 0.5 * sheet.density;
    let mut events = Vec::new();
    sheet.each_bar(role, |_, bar| {
        for step in 0..sheet.grid.steps() {
            let velocity = match (step + 4 - accent) % 4 {
                0 => 0.9,
                2 => 0.6,
                _ => 0.42,
            };
            if step % 2 == 1 && !rng.chance(keep) {
                continue;
            }
            let at = loose(sheet.grid.place_s(bar, step), 0.002, rng);
            events.push(hit(at, velocity, rng));
        }
    });
    events
}

/// A few answers in the phrase and a fill at its end; `note` is the pitch.
pub(crate) fn toms(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let tonic = 36.0 + f64::from(sheet.harmony.key.tonic);
    let pitches = [tonic + 9.0, tonic + 5.0, tonic];
    let answer = 5 + rng.below(3);
    let mut events = Vec::new();
    sheet.each_bar(Role::Toms, |section, bar| {
        let mut tom = |step: usize, which: usize, velocity: f64, rng: &mut Rng| {
            let at = loose(sheet.grid.place_s(bar, step), 0.0015, rng);
            events.push(Event {
                note: pitches[which],
                variant: which,
                ..hit(at, velocity, rng)
            });
        };
        let steps = sheet.grid.steps();
        if sheet.ends_phrase(section, bar) {
            let first = steps - 6 + rng.below(3);
            for step in first..steps {
                if step == first || rng.chance(0.8) {
                    let which = 3 * (step - first) / (steps - first);
                    tom(step, which, 0.65 + 0.3 * rng.unit(), rng);
                }
            }
        } else if bar % 2 == 1 && section.kind == SectionKind::Drop {
            tom(answer, 1, 0.6, rng);
            tom(answer + 3, 2, 0.7, rng);
        }
    });
    events
}

/// Risers end where a drop starts, impacts on section starts, a falling sweep
/// into breaks and outro.
pub(crate) fn effects(sheet: &Sheet<'_>, rng: &mut Rng) -> Vec<Event> {
    let bar_s = sheet.grid.bar_s();
    let mut events = Vec::new();
    for section in sheet.sections {
        let start_s = sheet.grid.bar_start_s(section.start_bar);
        let mut add = |variant: usize, start_s: f64, length_s: f64, velocity: f64| {
            events.push(Event {
                start_s,
                length_s,
                note: 48.0 + f64::from(sheet.harmony.key.tonic),
                velocity,
                variant,
            });
        };
        let bars = section.bars.min(8) as f64;
        match section.kind {
            SectionKind::Drop => add(IMPACT, start_s, 2.0 * bar_s, 1.0),
            SectionKind::Build => {
                let length_s = bars * bar_s;
                let end_s = sheet.grid.bar_start_s(section.end_bar());
                add(RISER, end_s - length_s, length_s, 1.0);
                add(SWEEP, start_s, bar_s, 0.4);
            }
            SectionKind::Break => {
                add(IMPACT, start_s, 2.0 * bar_s, 0.7);
                add(SWEEP, start_s, (0.5 * bars).max(1.0) * bar_s, 0.9);
            }
            SectionKind::Outro => add(SWEEP, start_s, (0.5 * bars).max(1.0) * bar_s, 0.7),
            SectionKind::Intro => add(SWEEP, start_s, bars * bar_s, 0.35 + 0.2 * rng.unit()),
        }
        if section.bars > 8 && section.kind != SectionKind::Build {
            // a small sign at the middle of a long section
            let half_s = sheet.grid.bar_start_s(section.start_bar + section.bars / 2);
            add(IMPACT, half_s, 2.0 * bar_s, 0.4);
            add(RISER, half_s - 2.0 * bar_s, 2.0 * bar_s, 0.4);
        }
    }
    events
}
