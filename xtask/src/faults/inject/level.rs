//! Faults of level.

use crate::faults::clean::Clean;
use crate::faults::inject::files::limited_bounce;
use crate::faults::inject::{Fault, Put, element, names, one, way};
use crate::faults::sound::gain_to_db;
use crate::prove::dice::Dice;

/// What a wrong level may truly bring.
const BY_LEVEL: &[&str] = &[
    "premaster-peak",
    "true-peak-over",
    "starved-or-hot",
    "dull",
    "harsh",
    "mud",
    "hidden",
    "kick-lows",
    "bass-lows",
    "mix-lean",
    "width-band",
    "small-speaker",
    "phone",
    "club-lows",
    "mono-loss-band",
    "wide-lows",
    "lows-off-centre",
    "rumble",
    "element-lean",
    "lopsided-pair",
    "room-loud",
    "room-lows",
    "negative-correlation",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("kick-off-anchor", BY_LEVEL, kick_off_anchor).whole(),
    Fault::sized("core-level", BY_LEVEL, core_level),
    Fault::sized("other-level", BY_LEVEL, other_level),
    Fault::sized("premaster-peak", BY_LEVEL, premaster_peak).whole(),
    Fault::sized("true-peak-over", BY_LEVEL_AND_CORE, true_peak_over),
    Fault::there(
        "bounce-limited",
        &["printed-limiter", "true-peak-over"],
        bounce_limited,
    ),
    Fault::sized("starved-or-hot", BY_LEVEL_AND_CORE, starved_or_hot),
    Fault::sized("unequal-loudness", &[], unequal_loudness).whole(),
];

const BY_LEVEL_AND_CORE: &[&str] = &[
    "core-level",
    "other-level",
    "premaster-peak",
    "true-peak-over",
    "starved-or-hot",
    "dull",
    "harsh",
    "mud",
    "sibilance",
    "hidden",
    "kick-lows",
    "bass-lows",
    "mix-lean",
    "width-band",
    "club-lows",
    "mono-loss-band",
    "element-lean",
    "lopsided-pair",
    "kick-off-anchor",
    "room-loud",
    "negative-correlation",
];

const CORE: &[&str] = &[
    "bass",
    "clap",
    "snare",
    "closed hat",
    "open hat",
    "lead",
    "vocal",
];
const OTHER: &[&str] = &["pad", "chords", "piano", "toms", "shaker", "rimshot"];

/// All tracks as one: up until the kick is over its anchor, or down from where the
/// clean session had them.
fn kick_off_anchor(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let kicks = clean.with_words(&["kick"]);
    let gain_db = match dice.chance(0.5) {
        true => -12.0 - gain_to_db(clean.kick_sum().peak()) + 2.0 * times,
        false => -2.0 * times,
    };
    let mut session = clean.clone();
    session.change_all(|track| track.sound.gained(gain_db));
    Put::new(session, kicks, format!("everything by {gain_db:+.1} dB"))
}

fn core_level(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let places = element(clean, CORE, dice)?;
    turned(clean, places, 4.0 * times * way(dice))
}

fn other_level(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let places = element(clean, OTHER, dice)?;
    turned(clean, places, 6.0 * times * way(dice))
}

fn turned(clean: &Clean, places: Vec<usize>, gain_db: f64) -> Option<Put> {
    let mut session = clean.clone();
    for &place in &places {
        session.replace(place, clean.tracks[place].sound.gained(gain_db));
    }
    let what = format!("{} by {gain_db:+.1} dB", names(clean, &places));
    Put::new(session, places, what)
}

/// The whole mix up to -1 dBFS and beyond.
fn premaster_peak(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let gain_db = gain_to_db(times) - 1.0 - gain_to_db(clean.sum().peak());
    let mut session = clean.clone();
    session.change_all(|track| track.sound.gained(gain_db));
    Put::new(
        session,
        Vec::new(),
        format!("everything by {gain_db:+.1} dB"),
    )
}

/// One track over full scale between its samples.
fn true_peak_over(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(
        clean,
        &["clap", "snare", "closed hat", "lead", "vocal", "kick"],
        dice,
        |_| true,
    )?;
    let sound = &clean.tracks[place].sound;
    let true_peak = between_samples(&sound.left).max(between_samples(&sound.right));
    turned(clean, vec![place], times - gain_to_db(true_peak))
}

/// Highest point of the wave near its fifty highest samples: 32 taps, eight points
/// between two samples.
fn between_samples(samples: &[f32]) -> f64 {
    let mut order: Vec<usize> = (32..samples.len().saturating_sub(32)).collect();
    let count = 50.min(order.len());
    if count == 0 {
        return 0.0;
    }
    order.select_nth_unstable_by(count - 1, |&a, &b| {
        samples[b].abs().total_cmp(&samples[a].abs())
    });
    let mut most = 0.0f64;
    for &at in &order[..count] {
        for step in -8..=8 {
            let part = f64::from(step) / 8.0;
            let sum: f64 = (-31i32..=31)
                .map(|tap| {
                    let x = std::f64::consts::PI * (part - f64::from(tap));
                    let sinc = if x.abs() < 1e-9 { 1.0 } else { x.sin() / x };
                    let window = 0.5 + 0.5 * (x / 32.0).cos();
                    sinc * window * f64::from(samples[(at as i32 + tap) as usize])
                })
                .sum();
            most = most.max(sum.abs());
        }
    }
    most
}

fn bounce_limited(clean: &Clean, _: &mut Dice, _: f64) -> Option<Put> {
    Some(limited_bounce(clean, 4.0)?.0)
}

/// Over full scale by a tenth of a decibel and more, or under -40 dBFS.
fn starved_or_hot(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, &[CORE, OTHER].concat(), dice, |_| true)?;
    let peak_db = gain_to_db(clean.tracks[place].sound.peak());
    let wanted_db = if dice.chance(0.5) {
        0.1 * times + 0.01
    } else {
        -40.0 - 6.0 * times.log2() - 0.5
    };
    turned(clean, vec![place], wanted_db - peak_db)
}

/// The reference so much louder or softer than the mix.
fn unequal_loudness(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let frames = clean.reference.frames();
    let loud = clean.reference.power_in(frames / 3..frames);
    let own = clean.sum().power_in(clean.busiest());
    let gain_db = 10.0 * (own / loud.max(1e-30)).log10() + (2.0 + times) * way(dice);
    let mut session = clean.clone();
    session.reference = clean.reference.gained(gain_db).into();
    Put::new(
        session,
        Vec::new(),
        format!("the reference by {gain_db:+.1} dB"),
    )
}
