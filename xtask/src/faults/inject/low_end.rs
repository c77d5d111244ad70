//! Faults of the low end.

use crate::faults::beats::{held_under, lows, pitch_hz, power_of};
use crate::faults::clean::{Clean, sum_of};
use crate::faults::filter::{between, low_shelf};
use crate::faults::inject::{Fault, Put, one, way};
use crate::faults::room::unlike;
use crate::faults::sound::{Sound, noise};
use crate::prove::dice::Dice;

/// Lows far up cover kick or bass, and make the band they end in narrow.
const BY_LOWS: &[&str] = &[
    "hidden",
    "width-band",
    "kick-lows",
    "bass-lows",
    "kick-bass-overlap",
    "kick-bass-cancel",
    "kick-pitch",
    "kick-long",
    "kick-unlike",
    "club-lows",
    "core-level",
    "other-level",
    "premaster-peak",
    "small-speaker",
    "wide-lows",
    "mix-lean",
    "element-lean",
    "mono-loss",
    "negative-correlation",
    "unmended",
    "dull",
    "inverted-channel",
    "edge-click",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("kick-lows", BY_LOWS, kick_lows),
    Fault::sized("bass-lows", BY_LOWS, bass_lows),
    Fault::sized("kick-bass-overlap", BY_LOWS, overlap),
    Fault::sized("kick-bass-cancel", BY_LOWS, cancel),
    Fault::sized("wide-lows", BY_LOWS, wide_lows),
    Fault::sized("lows-off-centre", BY_LOWS, off_centre),
    Fault::sized("rumble", BY_LOWS, rumble),
];

const LOW: &[&str] = &["bass", "sub"];

fn shelved(clean: &Clean, words: &[&str], hz: f64, gain_db: f64) -> Option<Put> {
    let places = clean.sounding(words);
    if places.is_empty() {
        return None;
    }
    let mut session = clean.clone();
    let shelf = [low_shelf(clean.rate_hz, hz, gain_db)];
    for &place in &places {
        session.replace(place, clean.tracks[place].sound.filtered(&shelf));
    }
    Put::new(session, places, format!("{gain_db:+.0} dB below {hz} Hz"))
}

fn kick_lows(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    shelved(clean, &["kick"], 150.0, 6.0 * times * way(dice))
}

fn bass_lows(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    shelved(clean, LOW, 180.0, 6.0 * times * way(dice))
}

fn bass_sum(clean: &Clean) -> Option<(Vec<usize>, Sound)> {
    let places = clean.sounding(LOW);
    let sum = sum_of(places.iter().map(|&place| &*clean.tracks[place].sound));
    (!places.is_empty()).then_some((places, sum))
}

/// On half of the hits and more the bass holds a note as strong as the kick.
fn overlap(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let share = 0.5 * times;
    if share > 1.0 {
        return None;
    }
    let (places, bass) = bass_sum(clean)?;
    let busiest = clean.busiest_hits(0.25);
    let hz = pitch_hz(&bass.left, clean.rate_hz, &busiest, (38.0, 90.0))?;
    let kick = lows(&clean.kick_sum(), clean.rate_hz, 150.0);
    let height = (2.0 * power_of(&kick.left, &busiest)).sqrt();
    let held = held_under(clean, hz, 1.2 * height, share, dice);
    let place = *places.last()?;
    let mut session = clean.clone();
    session.replace(place, clean.tracks[place].sound.plus(&held, 1.0));
    let mut right = clean.with_words(&["kick"]);
    right.extend(places);
    Put::new(
        session,
        right,
        format!("a note under {:.0} percent of the kicks", 100.0 * share),
    )
}

/// The bass gets the kick's lows upside down, until so much is lost on the hits.
fn cancel(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let (places, bass) = bass_sum(clean)?;
    let hits = clean.busiest_hits(0.15);
    if hits.len() < 8 {
        return None;
    }
    let kick = lows(&clean.kick_sum(), clean.rate_hz, 200.0);
    let bass_low = lows(&bass, clean.rate_hz, 150.0);
    let lost_db = |part: f64| {
        let other = bass_low.plus(&kick, -part);
        let apart = power_of(&kick.left, &hits) + power_of(&other.left, &hits);
        10.0 * (apart / power_of(&kick.plus(&other, 1.0).left, &hits)).log10()
    };
    let wanted_db = 2.5 * times;
    let part = (1..=95)
        .map(|step| 0.01 * f64::from(step))
        .find(|&part| lost_db(part) >= wanted_db)?;
    let place = *places.last()?;
    let mut session = clean.clone();
    session.replace(place, clean.tracks[place].sound.plus(&kick, -part));
    let mut right = clean.with_words(&["kick"]);
    right.extend(places);
    Put::new(session, right, format!("{wanted_db} dB lost on the hits"))
}

/// The track with most below 120 Hz among the bass, with its lows and all lows' power.
fn lowest(clean: &Clean) -> Option<(usize, Sound, f64)> {
    let busiest = clean.busiest();
    let parts = clean.sounding(LOW).into_iter();
    let lows_of = parts.map(|place| {
        (
            place,
            lows(&clean.tracks[place].sound, clean.rate_hz, 120.0),
        )
    });
    let (place, low) = lows_of.max_by(|a, b| {
        a.1.power_in(busiest.clone())
            .total_cmp(&b.1.power_in(busiest.clone()))
    })?;
    let all = lows(&clean.sum(), clean.rate_hz, 120.0).power_in(busiest);
    Some((place, low, all))
}

/// Sides below 120 Hz of -6 dB against the middle and more.
fn wide_lows(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let (place, low, all) = lowest(clean)?;
    let side = unlike(&low.mid(), clean.rate_hz, dice);
    let side = Sound::new(side.clone(), side.iter().map(|x| -x).collect());
    let side = lows(&side, clean.rate_hz, 110.0);
    let wanted = all * 10f64.powf(-0.6) * times * times;
    let gain = (wanted / side.power_in(clean.busiest()).max(1e-30)).sqrt();
    let mut session = clean.clone();
    session.replace(place, clean.tracks[place].sound.plus(&side, gain));
    Put::new(
        session,
        vec![place],
        format!("lows wide by {:.0} dB", -6.0 + 20.0 * times.log10()),
    )
}

/// Its lows stand 4 dB to one side and more.
fn off_centre(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let (place, low, all) = lowest(clean)?;
    if low.power_in(clean.busiest()) < 0.3 * all {
        return None;
    }
    let lean_db = 4.0 * times * way(dice);
    let rest = clean.tracks[place].sound.plus(&low, -1.0);
    let mut session = clean.clone();
    session.replace(place, rest.plus(&low.leaned(lean_db), 1.0));
    Put::new(
        session,
        vec![place],
        format!("lows {lean_db:+.0} dB to the right"),
    )
}

/// Noise of 20 to 55 Hz under a track without lows, until the sum's lows rise by 1.5
/// dB and more.
fn rumble(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(
        clean,
        &["vocal", "closed hat", "clap", "snare", "lead", "open hat"],
        dice,
        |_| true,
    )?;
    let rate_hz = clean.rate_hz;
    let frames = clean.tracks[place].sound.frames();
    let deep = noise(frames, dice).filtered(&between(rate_hz, 22.0, 50.0));
    let mid = deep.mid();
    let deep = Sound::new(mid.clone(), mid);
    let sum = clean
        .sum()
        .filtered(&crate::faults::filter::low_pass(rate_hz, 60.0));
    let own = sum.power_in(clean.busiest());
    let wanted = own * (10f64.powf(0.15 * times) - 1.0);
    let gain = (wanted / deep.power_in(clean.busiest()).max(1e-30)).sqrt();
    let mut session = clean.clone();
    session.replace(place, clean.tracks[place].sound.plus(&deep, gain));
    Put::new(
        session,
        vec![place],
        format!("the lows rise by {:.1} dB", 1.5 * times),
    )
}
