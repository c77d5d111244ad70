//! Faults of the middle and the top, of what is hidden, and of what falls out on other
//! loudspeakers.

use cupel_process::BiquadCoefficients;

use crate::faults::beats::lows;
use crate::faults::clean::{Clean, sum_of};
use crate::faults::filter::{bell, between, high_pass, high_shelf};
use crate::faults::inject::{Fault, Put, element, one, way};
use crate::faults::sound::{Sound, noise};
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
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("crowded-top", BY_COLOUR, crowded_top).whole(),
    Fault::sized("harsh", BY_COLOUR, harsh),
    Fault::sized("mud", BY_COLOUR, mud),
    Fault::sized("sibilance", BY_COLOUR, sibilance),
    Fault::sized("dull", BY_COLOUR, dull),
    Fault::sized("hidden", BY_COLOUR, hidden),
    Fault::sized("small-speaker", BY_COLOUR, small_speaker),
    Fault::sized("phone", BY_COLOUR, phone),
    Fault::sized("club-lows", BY_COLOUR, club_lows).whole(),
];

/// Two new elements at the top, and more, each as loud there as the hats.
fn crowded_top(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let hats = clean.sounding(&["closed hat", "open hat"]);
    let &hat = hats.first()?;
    let loud = clean.tracks[hat].sound.power();
    let names = [
        "Ride",
        "Tambourine",
        "Shaker 3",
        "Cymbal",
        "Hat Noise",
        "Perc Top",
        "Bells",
        "Triangle",
    ];
    let rate = f64::from(clean.rate_hz);
    let step_s = 15.0 / clean.tempo_bpm;
    let mut session = clean.clone();
    let count = ((2.0 * times).round() as usize).clamp(1, names.len());
    for (number, name) in names[..count].iter().enumerate() {
        let frames = clean.tracks[hat].sound.frames();
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
        session.add(&title, "percussion", made.as_loud_as(loud), true);
    }
    Put::new(session, Vec::new(), format!("{count} more at the top"))
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

/// What an element has over a frequency lies, in mono, 18 dB and so much under what
/// all else has there.
fn falls_out(clean: &Clean, places: Vec<usize>, hz: f64, under_db: f64) -> Option<Put> {
    let rate_hz = clean.rate_hz;
    let above = |sound: &Sound| sound.plus(&lows(sound, rate_hz, hz), -1.0);
    let mono = |sound: &Sound| {
        let mid = sound.mid();
        Sound::new(mid.clone(), mid).power_in(clean.busiest())
    };
    let own = above(&sum_of(
        places.iter().map(|&place| &*clean.tracks[place].sound),
    ));
    let rest = above(&clean.sum()).plus(&own, -1.0);
    let gain = (mono(&rest) * 10f64.powf(-under_db / 10.0) / mono(&own).max(1e-30)).sqrt();
    if gain >= 1.0 {
        return None;
    }
    let mut session = clean.clone();
    for &place in &places {
        let sound = &clean.tracks[place].sound;
        session.replace(place, sound.plus(&above(sound), gain - 1.0));
    }
    Put::new(
        session,
        places,
        format!("{under_db:.0} dB under the rest over {hz} Hz"),
    )
}

fn small_speaker(clean: &Clean, _: &mut Dice, times: f64) -> Option<Put> {
    let places = clean.sounding(&["bass", "sub"]);
    falls_out(clean, places, 180.0, 18.0 + 3.0 * times)
}

fn phone(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let places = element(clean, &["lead", "vocal", "snare"], dice)?;
    falls_out(clean, places, 400.0, 18.0 + 3.0 * times)
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
