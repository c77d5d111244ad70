//! Faults of the room.

use cupel_demo::{compose, synthesise};

use crate::faults::clean::Clean;
use crate::faults::inject::{Fault, Put, one};
use crate::faults::made::unpacked;
use crate::faults::room::{convolved, room};
use crate::prove::dice::Dice;

const BY_ROOM: &[&str] = &[
    "room-long",
    "room-loud",
    "room-lows",
    "other-room",
    "width-band",
    "flattened",
    "core-level",
    "other-level",
    "kick-long",
    "kick-lows",
    "bass-lows",
    "kick-bass-overlap",
    "wide-lows",
    "mono-loss",
    "mono-loss-band",
    "rumble",
    "cut-tail",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::there(
        "no-room",
        &["width-band", "core-level", "other-level"],
        no_room,
    )
    .whole(),
    Fault::sized("room-long", BY_ROOM, room_long),
    Fault::sized("room-loud", BY_ROOM, room_loud),
    Fault::sized("room-lows", BY_ROOM, room_lows),
    Fault::sized("other-room", BY_ROOM, other_room),
];

/// All parts made anew without any room, as loud as they were.
fn no_room(clean: &Clean, _: &mut Dice, _: f64) -> Option<Put> {
    let mut song = compose(clean.settings.as_ref()?).ok()?.session;
    if song.parts.len() > clean.tracks.len() {
        return None;
    }
    let mut session = clean.clone();
    for part in 0..song.parts.len() {
        song.parts[part].reverb_rt60_s = None;
        let power = clean.tracks[part].sound.power();
        let dry = unpacked(&synthesise(&song, part)).as_loud_as(power);
        session.tracks[part].sound = dry.into();
    }
    session.change_all(|track| (*track.sound).clone());
    Put::new(session, Vec::new(), "all parts without a room")
}

/// A room of a decay and a level against the dry sound on one track.
fn wet(clean: &Clean, place: usize, seconds: f64, level_db: f64, dice: &mut Dice) -> Option<Put> {
    let sound = &clean.tracks[place].sound;
    let response = room(clean.rate_hz, seconds, 0.004, dice);
    let tail = convolved(sound, &response, false);
    let gain = (sound.power() / tail.power().max(1e-30)).sqrt() * 10f64.powf(level_db / 20.0);
    let mut session = clean.clone();
    session.replace(place, sound.plus(&tail, gain).as_loud_as(sound.power()));
    Put::new(
        session,
        vec![place],
        format!("a room of {seconds:.1} s at {level_db:.0} dB"),
    )
}

const HITS: &[&str] = &["clap", "snare", "rimshot", "toms"];

fn room_long(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, HITS, dice, |_| true)?;
    wet(clean, place, 1.2 * times, -8.0, dice)
}

fn room_loud(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, HITS, dice, |_| true)?;
    wet(clean, place, 0.6, -9.0 + 6.0 * times.log2(), dice)
}

/// On a kick: toms ring as long by themselves, so that their gaps tell of no room.
fn room_lows(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, &["kick"], dice, |_| true)?;
    wet(clean, place, 0.8, -10.0 + 6.0 * times.log2(), dice)
}

fn other_room(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, HITS, dice, |_| true)?;
    // three times the 0.45 s of the others, and more
    wet(clean, place, 1.35 * times, -8.0, dice)
}
