//! Faults of left and right.

use crate::faults::clean::Clean;
use crate::faults::filter::between;
use crate::faults::inject::{Fault, Put, element, names, one, way};
use crate::faults::room::unlike;
use crate::faults::sound::Sound;
use crate::prove::dice::Dice;

const BY_SIDES: &[&str] = &[
    "element-lean",
    "mix-lean",
    "lopsided-pair",
    "width-band",
    "negative-correlation",
    "inverted-channel",
    "mono-loss",
    "mono-loss-band",
    "lows-off-centre",
    "wide-lows",
    "core-level",
    "other-level",
    "dead-channel",
    "small-speaker",
    "phone",
    // sides that are added are power that is added
    "harsh",
    "mud",
    // one half of a pair far up covers what plays beside it
    "hidden",
];

pub(super) const FAULTS: &[Fault] = &[
    Fault::sized("element-lean", BY_SIDES, element_lean),
    Fault::sized("mix-lean", BY_SIDES, mix_lean).whole(),
    Fault::sized("lopsided-pair", BY_SIDES, lopsided_pair),
    Fault::sized("width-band", BY_SIDES, width_band).whole(),
    Fault::sized("negative-correlation", BY_SIDES, negative_correlation),
    Fault::sized("mono-loss", BY_SIDES, mono_loss),
    Fault::sized("mono-loss-band", BY_SIDES, mono_loss_band),
];

/// An element that stands in the middle goes to one side.
fn element_lean(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let words = ["clap", "snare", "lead", "vocal", "bass", "piano", "chords"];
    let places = element(clean, &words, dice)?;
    let level = |place: usize| {
        let (left, right) = clean.tracks[place].sound.powers();
        (10.0 * (right / left.max(1e-30)).log10()).abs() < 0.8
    };
    if !places.iter().all(|&place| level(place)) {
        return None;
    }
    // wide sounds may lean twice as far
    let size_db = if clean.tracks[places[0]].word == "chords" {
        8.0
    } else {
        4.0
    };
    let lean_db = size_db * times * way(dice);
    leaned(clean, places, lean_db)
}

fn leaned(clean: &Clean, places: Vec<usize>, lean_db: f64) -> Option<Put> {
    let mut session = clean.clone();
    for &place in &places {
        session.replace(place, clean.tracks[place].sound.leaned(lean_db));
    }
    let what = format!("{} {lean_db:+.1} dB to the right", names(clean, &places));
    Put::new(session, places, what)
}

fn mix_lean(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let lean_db = 3.0 * times * way(dice);
    let mut session = clean.clone();
    session.change_all(|track| track.sound.leaned(lean_db));
    Put::new(
        session,
        Vec::new(),
        format!("everything {lean_db:+.1} dB to the right"),
    )
}

/// One of two shakers, left and right, is louder than the other.
fn lopsided_pair(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let pair = clean.with_words(&["shaker"]);
    let &[one, other] = &pair[..] else {
        return None;
    };
    let loud = |place: usize| clean.tracks[place].sound.power_in(clean.busiest());
    if loud(one) <= 0.0 || loud(other) <= 0.0 {
        return None;
    }
    let apart_db = 10.0 * (loud(one) / loud(other)).log10();
    let (place, gain_db) = match dice.chance(0.5) {
        true => (one, 4.0 * times - apart_db),
        false => (other, 4.0 * times + apart_db),
    };
    let mut session = clean.clone();
    session.replace(place, clean.tracks[place].sound.gained(gain_db));
    Put::new(
        session,
        pair,
        format!("{} {gain_db:+.1} dB", names(clean, &[place])),
    )
}

/// All sides of the session down in a band, against a reference that keeps them.
fn width_band(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let (low_hz, high_hz) = dice.pick(&[(500.0, 2_000.0), (2_000.0, 6_000.0)]);
    let gain = 10f64.powf(-6.0 * times / 20.0);
    let band = between(clean.rate_hz, low_hz, high_hz);
    let mut session = clean.clone();
    session.change_all(|track| {
        let side = track.sound.side();
        let sides = Sound::new(side.clone(), side.iter().map(|x| -x).collect());
        let back = |mut sound: Sound| {
            sound.left.reverse();
            sound.right.reverse();
            sound
        };
        // there and back, so that no phase turns
        let inside = back(back(sides.filtered(&band)).filtered(&band));
        track.sound.plus(&inside, gain - 1.0)
    });
    Put::new(
        session,
        Vec::new(),
        format!(
            "sides {:.0} dB down from {low_hz} to {high_hz} Hz",
            -6.0 * times
        ),
    )
}

/// Middle and an unlike side of the wanted powers, as loud as it was.
fn widened(clean: &Clean, place: usize, side_over_mid: f64, dice: &mut Dice) -> Sound {
    let sound = &clean.tracks[place].sound;
    let mid = sound.mid();
    let side = unlike(&mid, clean.rate_hz, dice);
    let both = Sound::new(side, mid.clone());
    let (of_side, of_mid) = both.powers();
    let gain = (side_over_mid * of_mid / of_side.max(1e-30)).sqrt() as f32;
    let side: Vec<f32> = both.left.iter().map(|x| gain * x).collect();
    Sound::from_mid_side(&mid, &side).as_loud_as(sound.power())
}

/// Correlation of -0.3 and less, on a track that matters.
fn negative_correlation(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let least = 0.02 * clean.sum_power();
    let busiest = clean.busiest();
    let words = ["lead", "chords", "pad", "piano", "vocal", "clap", "snare"];
    let place = one(clean, &words, dice, |sound| {
        sound.power_in(busiest.clone()) > least
    })?;
    let wanted = (0.3 * times).min(0.95);
    let made = widened(clean, place, (1.0 + wanted) / (1.0 - wanted), dice);
    let mut session = clean.clone();
    session.replace(place, made);
    Put::new(
        session,
        vec![place],
        format!("a correlation of {:.2}", -wanted),
    )
}

/// A core element that loses 5 dB in mono and more.
fn mono_loss(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let words = ["clap", "snare", "closed hat", "lead", "vocal", "bass"];
    let places = element(clean, &words, dice)?;
    let over = 10f64.powf(0.5 * times) - 1.0;
    let mut session = clean.clone();
    for &place in &places {
        session.replace(place, widened(clean, place, over, dice));
    }
    Put::new(
        session,
        places,
        format!("{:.1} dB lost in mono", 5.0 * times),
    )
}

/// The tracks with most of an octave get sides there, unlike their middle, until the
/// mix loses 5 dB in mono and more.
fn mono_loss_band(clean: &Clean, dice: &mut Dice, times: f64) -> Option<Put> {
    let hz = dice.pick(&[360.0, 720.0, 1_400.0, 2_900.0]);
    let band = between(clean.rate_hz, hz / 1.5, hz * 1.5);
    let busiest = clean.busiest();
    let inside: Vec<Sound> = clean
        .tracks
        .iter()
        .map(|track| track.sound.filtered(&band))
        .collect();
    let mut order: Vec<(usize, f64)> = inside
        .iter()
        .enumerate()
        .map(|(place, sound)| (place, sound.power_in(busiest.clone())))
        .collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let places: Vec<usize> = order.iter().take(2).map(|(place, _)| *place).collect();
    let mid: f64 = {
        let sum = crate::faults::clean::sum_of(inside.iter());
        let mid = sum.mid();
        Sound::new(mid.clone(), mid).power_in(busiest.clone())
    };
    let wanted = mid * (10f64.powf(0.5 * times) - 1.0) / places.len() as f64;
    let mut session = clean.clone();
    for &place in &places {
        let side = unlike(&inside[place].mid(), clean.rate_hz, dice);
        let side = Sound::new(side.clone(), side.iter().map(|x| -x).collect());
        let gain = (wanted / side.power_in(busiest.clone()).max(1e-30)).sqrt();
        session.replace(place, clean.tracks[place].sound.plus(&side, gain));
    }
    Put::new(
        session,
        places,
        format!("{:.1} dB lost in mono about {hz} Hz", 5.0 * times),
    )
}
