//! Faults of the middle and the top, of what is hidden, and of what falls out on other
//! loudspeakers.

use std::ops::Range;

use cupel_process::BiquadCoefficients;

use crate::faults::beats::lows;
use crate::faults::clean::{Clean, sum_of};
use crate::faults::filter::{bell, between, high_pass, high_shelf};
use crate::faults::inject::{Fault, Put, one, way};
use crate::faults::room::unlike;
use crate::faults::sound::{Sound, noise};
use crate::faults::speaker::{folded_over, in_full};
use crate::prove::dice::Dice;

const BY_COLOUR: &[&str] = &[
    "harsh",
    "mud",
    "dull",
    "sibilance",
    "crowded-top",
    "core-level",
    "other-level",
    "hidden",
    "unmended",
    "premaster-peak",
    "width-band",
    "kick-lows",
    "bass-lows",
    "club-lows",
    "small-speaker",
    "phone",
    "kick-unlike",
    "flattened",
    // the lowest octave of a kick is what it rests at and rings out with
    "kick-long",
];

/// A sound whose middle is gone is softer and darker, and lets others be heard more; one
/// that went to the sides is all of what follows from that.
const BY_FALLING_OUT: &[&str] = &[
    "harsh",
    "mud",
    "dull",
    "sibilance",
    "core-level",
    "other-level",
    "hidden",
    "unmended",
    "premaster-peak",
    "width-band",
    "bass-lows",
    "small-speaker",
    "phone",
    "flattened",
    "negative-correlation",
    "inverted-channel",
    "mono-loss",
    "mono-loss-band",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("crowded-top", BY_COLOUR, crowded_top).whole(),
    Fault::sized("harsh", BY_COLOUR, harsh),
    Fault::sized("mud", BY_COLOUR, mud),
    Fault::sized("sibilance", BY_COLOUR, sibilance),
    Fault::sized("dull", BY_COLOUR, dull),
    Fault::sized("hidden", BY_COLOUR, hidden),
    Fault::sized("small-speaker", BY_FALLING_OUT, small_speaker),
    Fault::sized("phone", BY_FALLING_OUT, phone),
    Fault::sized("club-lows", BY_COLOUR, club_lows).whole(),
];

/// Above this is the top.
const TOP_HZ: f64 = 8_000.0;
/// A sound has a real share of it down to this under the strongest, dB.
const REAL_SHARE_DB: f64 = -7.0;
/// This many may share it, whatever the reference has.
const MAY_SHARE: usize = 3;

/// New elements at the top until two more share it than may, and more, each nearly as
/// loud there as the strongest.
fn crowded_top(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let hats = clean.sounding(&["closed hat", "open hat"]);
    hats.first()?;
    let busiest = clean.busiest();
    let filter = high_pass(clean.rate_hz, TOP_HZ);
    let top = |sound: &Sound| sound.filtered(&filter).power_in(busiest.clone());
    let powers: Vec<f64> = clean.tracks.iter().map(|track| top(&track.sound)).collect();
    let most = powers.iter().copied().fold(0.0, f64::max);
    let real = most * 10f64.powf(0.1 * REAL_SHARE_DB);
    // two shakers to both sides are one sound
    let pair: f64 = clean
        .with_words(&["shaker"])
        .iter()
        .map(|&p| powers[p])
        .sum();
    let others = clean.tracks.iter().zip(&powers);
    let alone = others.filter(|(track, power)| track.word != "shaker" && **power > real);
    let there = alone.count() + usize::from(pair > real);
    let names = [
        "Ride",
        "Tambourine",
        "Shaker 3",
        "Cymbal",
        "Hat Noise",
        "Perc Top",
        "Bells",
        "Triangle",
        "Crash",
        "Cabasa",
    ];
    let rate = f64::from(clean.rate_hz);
    let step_s = 15.0 / clean.tempo_bpm;
    let mut session = clean.clone();
    let wanted = MAY_SHARE + (2.0 * times).round() as usize;
    let count = wanted.saturating_sub(there).min(names.len());
    if count == 0 {
        return None;
    }
    for (number, name) in names[..count].iter().enumerate() {
        let frames = clean.tracks[hats[0]].sound.frames();
        let raw = noise(frames, dice)
            .filtered(&high_pass(clean.rate_hz, 6_500.0 + 500.0 * number as f64));
        let steps: Vec<bool> = (0..16).map(|_| dice.chance(0.4)).collect();
        let fall_s = dice.between(0.03, 0.12);
        let made = raw.map(|n, l, r| {
            let place_s = n as f64 / rate;
            let (slot, since_s) = ((place_s / step_s) as usize, place_s % step_s);
            let gain = if steps[slot % 16] {
                (-since_s / fall_s).exp()
            } else {
                0.0
            };
            (gain * l, gain * r)
        });
        let title = format!("{:02} {name}", session.tracks.len() + 1);
        let gain_db = 10.0 * (most / top(&made).max(1e-30)).log10() - 2.0;
        session.add(&title, "percussion", made.gained(gain_db), true);
    }
    let what = format!("{count} more at the top, which {there} shared");
    Put::new(session, Vec::new(), what)
}

/// Puts filters on the tracks with at least a twelfth of a band, the kick apart;
/// at most five.
fn on_owners(
    clean: &Clean,
    (low_hz, high_hz): (f64, f64),
    filters: &[BiquadCoefficients],
    what: String,
) -> Option<Put> {
    let band = between(clean.rate_hz, low_hz, high_hz);
    let busiest = clean.busiest();
    let mut powers: Vec<(usize, f64)> = clean
        .tracks
        .iter()
        .enumerate()
        .map(|(place, track)| (place, track.sound.filtered(&band).power_in(busiest.clone())))
        .collect();
    let all: f64 = powers.iter().map(|(_, power)| power).sum();
    powers.retain(|(place, power)| *power > all / 12.0 && clean.tracks[*place].word != "kick");
    powers.sort_by(|a, b| b.1.total_cmp(&a.1));
    powers.truncate(5);
    if powers.is_empty() {
        return None;
    }
    let mut session = clean.clone();
    for (place, _) in &powers {
        session.replace(*place, clean.tracks[*place].sound.filtered(filters));
    }
    let places = powers.into_iter().map(|(place, _)| place).collect();
    Put::new(session, places, what)
}

fn harsh(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let filter = [bell(clean.rate_hz, 3_200.0, 1.6, 6.0 * times)];
    on_owners(
        clean,
        (2_000.0, 5_000.0),
        &filter,
        format!("{:+.0} dB about 3.2 kHz", 6.0 * times),
    )
}

fn mud(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let filter = [bell(clean.rate_hz, 320.0, 1.6, 6.0 * times)];
    on_owners(
        clean,
        (200.0, 500.0),
        &filter,
        format!("{:+.0} dB about 320 Hz", 6.0 * times),
    )
}

fn dull(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let filter = [high_shelf(clean.rate_hz, 5_000.0, -6.0 * times)];
    on_owners(
        clean,
        (6_000.0, 16_000.0),
        &filter,
        format!("{:.0} dB over 5 kHz", -6.0 * times),
    )
}

/// The voice's s sounds 10 dB under its body, and more.
fn sibilance(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, &["vocal"], dice, |_| true)?;
    let sound = &clean.tracks[place].sound;
    let wanted_db = -10.0 + 6.0 * times.log2();
    let part_db = |sound: &Sound| {
        let power = |low, high| sound.filtered(&between(clean.rate_hz, low, high)).power();
        10.0 * (power(5_000.0, 9_000.0) / power(300.0, 3_500.0).max(1e-30)).log10()
    };
    let mut gain_db = wanted_db - part_db(sound);
    let mut made = sound.filtered(&[bell(clean.rate_hz, 6_800.0, 0.9, gain_db)]);
    for _ in 0..4 {
        gain_db += wanted_db - part_db(&made);
        made = sound.filtered(&[bell(clean.rate_hz, 6_800.0, 0.9, gain_db)]);
    }
    if gain_db < 2.0 {
        return None;
    }
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(
        session,
        vec![place],
        format!("5 to 9 kHz {wanted_db:.0} dB against its body"),
    )
}

/// So soft that in three of four sixteenths it lies 3 dB and more under what noise
/// hides, in its best band.
fn hidden(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let place = one(clean, &["lead", "vocal", "clap", "snare"], dice, |_| true)?;
    let best_db = best_band_db(clean, place)?;
    let gain_db = -(5.5 + 3.0 * times) - best_db;
    let mut session = clean.clone();
    session.replace(place, clean.tracks[place].sound.gained(gain_db));
    Put::new(session, vec![place], format!("{gain_db:+.0} dB"))
}

/// In its best third octave against all else, sixteenth by sixteenth where it plays:
/// what three of four of them reach at most, dB.
fn best_band_db(clean: &Clean, place: usize) -> Option<f64> {
    let busiest = clean.busiest();
    let cut = |sound: &Sound| {
        let end = busiest.end.min(sound.frames());
        let part = |side: &[f32]| side[busiest.start.min(end)..end].to_vec();
        Sound::new(part(&sound.left), part(&sound.right))
    };
    let own = cut(&clean.tracks[place].sound);
    let rest = cut(&clean.sum()).plus(&own, -1.0);
    let step = (f64::from(clean.rate_hz) * 15.0 / clean.tempo_bpm) as usize;
    let count = own.frames() / step;
    let mut best = vec![f64::MIN; count];
    for third in -8..=13 {
        let middle = 1_000.0 * 2f64.powf(f64::from(third) / 3.0);
        let band = between(clean.rate_hz, middle / 1.12, middle * 1.12);
        let (own, rest) = (own.filtered(&band), rest.filtered(&band));
        for (slot, best) in best.iter_mut().enumerate() {
            let frames = slot * step..(slot + 1) * step;
            let ratio = own.power_in(frames.clone()) / rest.power_in(frames).max(1e-14);
            *best = best.max(10.0 * ratio.max(1e-12).log10());
        }
    }
    let loudest = (0..count).map(|slot| own.power_in(slot * step..(slot + 1) * step));
    let powers: Vec<f64> = loudest.collect();
    let most = powers.iter().copied().fold(0.0, f64::max);
    let playing = best
        .iter()
        .zip(&powers)
        .filter(|(_, power)| **power > 0.01 * most);
    let mut playing: Vec<f64> = playing.map(|(best, _)| *best).collect();
    playing.sort_by(f64::total_cmp);
    playing.get(playing.len() * 3 / 4).copied()
}

/// What is left of a sound over a frequency is cut from so far below it that the cut
/// is done there: 40 dB at the frequency itself.
const CUT_FROM: f64 = 0.56;
/// An element that lies further under the mix in full is not heard there either, dB.
const IN_FULL_DB: f64 = -20.0;

/// What some tracks have over a frequency lies, folded to one side and weighed by
/// loudness, so much under what all else has there, wherever a busy section has most of
/// it. It is filtered off; where then nothing would be left that is heard in full, it
/// goes to the sides instead, and falls out where they are folded.
fn falls_out(
    clean: &Clean,
    places: Vec<usize>,
    hz: f64,
    under_db: f64,
    dice: &mut Dice,
) -> Option<Put> {
    let rate_hz = clean.rate_hz;
    let sum = sum_of(places.iter().map(|&place| &*clean.tracks[place].sound));
    let others = clean.sum().plus(&sum, -1.0);
    let over = |sound: &Sound, frames: &Range<usize>| folded_over(sound, rate_hz, frames, hz);
    // where it stands highest over the rest
    let (level, frames) = passages(clean)
        .into_iter()
        .map(|frames| {
            (
                over(&sum, &frames) / over(&others, &frames).max(1e-30),
                frames,
            )
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    let wanted = 10f64.powf(-0.1 * under_db);
    if level <= wanted {
        return None;
    }
    let rest = over(&others, &frames);
    let above = |sound: &Sound| sound.plus(&lows(sound, rate_hz, CUT_FROM * hz), -1.0);
    let parts: Vec<Sound> = places
        .iter()
        .map(|&place| above(&clean.tracks[place].sound))
        .collect();
    let sides: Vec<Sound> = parts
        .iter()
        .map(|part| {
            let side = unlike(&part.mid(), rate_hz, dice);
            let against = side.iter().map(|x| -x).collect();
            Sound::new(side, against)
        })
        .collect();
    for aside in [false, true] {
        let made = |gain: f64| -> Vec<Sound> {
            let all = places.iter().zip(parts.iter().zip(&sides));
            all.map(|(&place, (part, side))| {
                let sound = clean.tracks[place].sound.plus(part, gain - 1.0);
                match aside {
                    true => sound.plus(&side.as_loud_as(part.power()), 1.0),
                    false => sound,
                }
            })
            .collect()
        };
        let left = |gain: f64| over(&sum_of(made(gain).iter()), &frames) / rest;
        // its power goes by the square of the gain, but for what the cut leaves
        let mut gain = 0.5;
        for _ in 0..4 {
            gain = (gain * (wanted / left(gain).max(1e-30)).sqrt()).clamp(1e-4, 1.0);
        }
        let is_db = -10.0 * left(gain).max(1e-30).log10();
        let sounds = made(gain);
        let own = in_full(&sum_of(sounds.iter()), rate_hz, &frames);
        let mut session = clean.clone();
        for (&place, sound) in places.iter().zip(sounds) {
            session.replace(place, sound);
        }
        let all = in_full(&session.sum(), rate_hz, &frames);
        if own > all * 10f64.powf(0.1 * IN_FULL_DB) && (is_db - under_db).abs() < 0.5 {
            let how = if aside {
                "to the sides"
            } else {
                "filtered off"
            };
            let what = format!("{is_db:.1} dB under the rest over {hz} Hz, {how}");
            return Put::new(session, places, what);
        }
    }
    None
}

/// Stretches of eight bars of all sections that are called as the busiest one.
fn passages(clean: &Clean) -> Vec<Range<usize>> {
    let at = |seconds: f64| (seconds.min(1e5) * f64::from(clean.rate_hz)) as usize;
    let eight_bars = at(8.0 * 240.0 / clean.tempo_bpm);
    let same = |start_s: f64| (start_s - clean.busiest_s.0).abs() < 0.1;
    let busiest = clean.sections.iter().find(|section| same(section.1));
    let mut found = Vec::new();
    for (name, start_s, end_s) in &clean.sections {
        if busiest.is_some_and(|busiest| busiest.0 == *name) {
            let whole = at(*start_s)..at(*end_s);
            let starts = whole.clone().step_by(eight_bars.max(1));
            let parts = starts.map(|from| from..(from + eight_bars).min(whole.end));
            found.extend(parts.filter(|part| 2 * part.len() > eight_bars));
        }
    }
    if found.is_empty() {
        found.push(clean.busiest());
    }
    found
}

fn small_speaker(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let places = clean.sounding(&["bass", "sub"]);
    falls_out(clean, places, 180.0, 18.0 + 3.0 * times, dice)
}

/// Snare and clap are one line: where one is gone, the other still tells the beat.
fn phone(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let lines: [&[&str]; 3] = [&["lead"], &["vocal"], &["snare", "clap"]];
    let mut there: Vec<Vec<usize>> = lines.iter().map(|words| clean.sounding(words)).collect();
    there.retain(|places| !places.is_empty());
    let all: Vec<usize> = (0..there.len()).collect();
    let places = match all.is_empty() {
        true => return None,
        false => there.swap_remove(dice.pick(&all)),
    };
    falls_out(clean, places, 400.0, 18.0 + 3.0 * times, dice)
}

/// All lows below some 55 Hz 8 dB up or down, and more.
fn club_lows(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let gain_db = 8.0 * times * way(dice);
    let gain = 10f64.powf(gain_db / 20.0);
    let mut session = clean.clone();
    session.change_all(|track| {
        let low = lows(&track.sound, clean.rate_hz, 58.0);
        track.sound.plus(&low, gain - 1.0)
    });
    let what = format!("everything {gain_db:+.0} dB below 55 Hz");
    Put::new(session, Vec::new(), what)
}
