//! References that do not fit.

use crate::faults::clean::{Clean, Coding};
use crate::faults::inject::{Fault, Put, way};
use crate::faults::sound::Sound;
use crate::prove::dice::Dice;

/// What another reference may truly bring.
const BY_REFERENCE: &[&str] = &[
    "reference-tempo",
    "reference-register",
    "reference-style",
    "kick-unlike",
    "unmended",
    "core-level",
    "other-level",
    "kick-lows",
    "bass-lows",
    "width-band",
    "dull",
    "harsh",
    "mud",
    "club-lows",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("reference-tempo", BY_REFERENCE, tempo).whole(),
    Fault::sized("reference-register", BY_REFERENCE, register).whole(),
    Fault::there("reference-style", BY_REFERENCE, style).whole(),
    Fault::sized("reference-age", &[], age),
    Fault::there("reference-lossy", &[], lossy),
    Fault::there("reference-mono", BY_REFERENCE, mono).whole(),
];

/// Played faster or slower, at its pitch.
fn tempo(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let off = 0.12 * times * way(dice);
    let wanted_bpm = clean.tempo_bpm
        * if off > 0.0 {
            1.0 + off
        } else {
            1.0 / (1.0 - off)
        };
    let faster = wanted_bpm / clean.reference_tempo_bpm;
    let mut session = clean.clone();
    session.reference = stretched(&clean.reference, clean.reference_rate_hz, faster).into();
    Put::new(
        session,
        Vec::new(),
        format!("a reference of {wanted_bpm:.0} BPM"),
    )
}

/// Overlap and add of windows of 80 ms that are laid where they fit best.
fn stretched(sound: &Sound, rate_hz: u32, faster: f64) -> Sound {
    let window = (0.08 * f64::from(rate_hz)) as usize;
    let (hop, reach) = (window / 2, window / 4);
    let length = (sound.frames() as f64 / faster) as usize;
    let mut made = Sound::silent(length + window);
    let mid = sound.mid();
    let mut last: Option<usize> = None;
    for number in 0..length / hop {
        let aim = (number as f64 * hop as f64 * faster) as usize;
        let from = match last {
            None => aim,
            Some(last) => best_fit(&mid, last + hop, aim, reach, hop),
        };
        if from + window >= sound.frames() {
            break;
        }
        for n in 0..window {
            let turn = std::f64::consts::TAU * n as f64 / window as f64;
            let weight = (0.5 - 0.5 * turn.cos()) as f32;
            made.left[number * hop + n] += weight * sound.left[from + n];
            made.right[number * hop + n] += weight * sound.right[from + n];
        }
        last = Some(from);
    }
    made
}

/// Start near `aim` from which the samples look most like those at `like`.
fn best_fit(samples: &[f32], like: usize, aim: usize, reach: usize, count: usize) -> usize {
    let mut best = (f32::MIN, aim);
    for from in (aim.saturating_sub(reach)..aim + reach).step_by(4) {
        if from + count >= samples.len() || like + count >= samples.len() {
            break;
        }
        let pairs = (0..count).step_by(4);
        let fit: f32 = pairs.map(|n| samples[from + n] * samples[like + n]).sum();
        if fit > best.0 {
            best = (fit, from);
        }
    }
    best.1
}

/// All of the reference higher or lower, at its tempo.
fn register(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let semitones = (7.0 * times).min(24.0) * way(dice);
    let ratio = (semitones / 12.0).exp2();
    let reference = &clean.reference;
    let slower = stretched(reference, clean.reference_rate_hz, 1.0 / ratio);
    let frames = (slower.frames() as f64 / ratio) as usize;
    let at = |side: &[f32], n: usize| {
        let place = n as f64 * ratio;
        let (whole, part) = (place as usize, place.fract() as f32);
        let sample = |n: usize| side.get(n).copied().unwrap_or(0.0);
        sample(whole) * (1.0 - part) + sample(whole + 1) * part
    };
    let side = |side: &[f32]| (0..frames).map(|n| at(side, n)).collect();
    let mut session = clean.clone();
    session.reference = Sound::new(side(&slower.left), side(&slower.right)).into();
    Put::new(
        session,
        Vec::new(),
        format!("the reference by {semitones:+.0} semitones"),
    )
}

/// Orders in which the eighths of a bar are laid: of the eight, where each is taken from.
const ORDERS: [[usize; 8]; 4] = [
    [0, 1, 3, 2, 5, 4, 7, 2],
    [0, 2, 1, 4, 3, 6, 5, 7],
    [3, 0, 1, 2, 7, 4, 5, 6],
    [5, 3, 0, 6, 1, 7, 2, 4],
];
/// The beat is another one from this part on.
const UNLIKE: f64 = 0.55;

/// Kicks where the session has none: the reference's beats cut into eighths and laid in
/// the order that is least like the session's, if it is unlike enough.
fn style(clean: &Clean, _: &mut Dice, _: f64) -> Option<Put> {
    let beat = beat(clean)?;
    let unlike = |order: &[usize; 8]| {
        let slot = |slot: usize| beat[2 * order[slot / 2] + slot % 2];
        least_unlike(&beat, &std::array::from_fn(slot))
    };
    let order = ORDERS
        .into_iter()
        .max_by(|a, b| unlike(a).total_cmp(&unlike(b)))
        .filter(|order| unlike(order) >= UNLIKE)?;
    let rate = f64::from(clean.reference_rate_hz);
    let eighth = (rate * 30.0 / clean.reference_tempo_bpm).round() as usize;
    let reference = &clean.reference;
    let from = |n: usize| {
        let (bar, place) = (n / (8 * eighth), n % (8 * eighth));
        let (slot, inside) = (place / eighth, place % eighth);
        (bar * 8 + order[slot]) * eighth + inside
    };
    let side = |side: &[f32]| -> Vec<f32> {
        (0..side.len())
            .map(|n| side.get(from(n)).copied().unwrap_or(0.0))
            .collect()
    };
    let mut session = clean.clone();
    session.reference = Sound::new(side(&reference.left), side(&reference.right)).into();
    let what = format!(
        "the reference's beat is {:.0} percent unlike",
        100.0 * unlike(&order)
    );
    Put::new(session, Vec::new(), what)
}

/// How high kicks stand on each sixteenth of the bar, in the busiest section; the
/// reference of a made session has the same beat.
fn beat(clean: &Clean) -> Option<[f64; 16]> {
    let bar_s = 240.0 / clean.tempo_bpm;
    let mut counts = [0.0f64; 16];
    let (from_s, to_s) = clean.busiest_s;
    for kick_s in &clean.kick_times_s {
        if (from_s - 0.01..to_s).contains(kick_s) {
            let place = 16.0 * (kick_s - from_s) / bar_s;
            counts[(place.round().max(0.0) as usize) % 16] += 1.0;
        }
    }
    let heights = counts.map(f64::sqrt);
    heights
        .iter()
        .any(|height| *height > 0.0)
        .then_some(heights)
}

/// What two beats do not share at best, 0 to 1, wherever the other's bar is taken to
/// begin: on any beat, and a sixteenth early or late.
fn least_unlike(one: &[f64; 16], other: &[f64; 16]) -> f64 {
    let length = |beat: &[f64; 16]| beat.iter().map(|x| x * x).sum::<f64>();
    let lengths = (length(one) * length(other)).sqrt().max(1e-9);
    let shared = |shift: usize| -> f64 {
        let pairs = (0..16).map(|slot| one[slot] * other[(slot + shift) % 16]);
        pairs.sum()
    };
    let shifts = (0..16).filter(|shift| shift % 4 != 2);
    1.0 - shifts.map(shared).fold(0.0, f64::max) / lengths
}

fn age(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let mut session = clean.clone();
    let year = 2026 - (15.0 * times).round() as i32;
    session.coding = Coding::Tagged(year);
    Put::new(session, Vec::new(), format!("tagged {year}"))
}

fn lossy(clean: &Clean, _: &mut Dice, _: f64) -> Option<Put> {
    let mut session = clean.clone();
    session.coding = Coding::Lossy;
    Put::new(session, Vec::new(), "an mp3 of 128 kbit/s")
}

fn mono(clean: &Clean, _: &mut Dice, _: f64) -> Option<Put> {
    let mut session = clean.clone();
    let mid = clean.reference.mid();
    session.reference = Sound::new(mid.clone(), mid).into();
    Put::new(session, Vec::new(), "a mono reference")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beats_are_unlike_by_what_never_meets() {
        let on = |slots: &[usize]| {
            let mut beat = [0.0; 16];
            slots.iter().for_each(|&slot| beat[slot] = 1.0);
            beat
        };
        let floor = on(&[0, 4, 8, 12]);
        assert!(least_unlike(&floor, &floor).abs() < 1e-9);
        // a bar that begins a beat later, or a sixteenth early, is the same beat
        let broken = on(&[0, 6, 10]);
        assert!(least_unlike(&broken, &on(&[4, 10, 14])).abs() < 1e-9);
        assert!(least_unlike(&broken, &on(&[15, 5, 9])).abs() < 1e-9);
        // one of four meets
        assert!((least_unlike(&floor, &on(&[0, 6, 10, 14])) - 0.75).abs() < 1e-9);
    }
}
